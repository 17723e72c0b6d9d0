//! Whatever stands in the cells of a report: nothing that a terminal would obey, and no mark that turns
//! text around, is ever printed. Arguments, paths and sheets are tried in `lines`.

use crate::kit::program::musterbench;
use proptest::prelude::*;
use std::fs;
use std::path::Path;

/// What a terminal shows and does not obey.
fn is_harmless(c: char) -> bool {
    // The bidirectional controls of Unicode Standard Annex #9.
    let turns = matches!(c, '\u{61c}' | '\u{200e}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    c == '\n' || !(c.is_control() || turns)
}

/// Runs the program; what it prints, on both ways out.
fn check(folder: &Path, arguments: &[&str]) -> Result<(), TestCaseError> {
    let output = musterbench(folder).args(arguments).output().expect("it starts");
    prop_assert!(output.status.code().is_some(), "{arguments:?}");
    if arguments == ["explain", "run-001.csv", "2"] {
        // The report was read, and the cells are what is shown.
        prop_assert_eq!(output.status.code(), Some(0));
    }
    for told in [&output.stdout, &output.stderr] {
        let told = String::from_utf8_lossy(told);
        prop_assert!(told.chars().all(is_harmless), "{arguments:?}: {told:?}");
        prop_assert!(!told.contains("panicked"), "{arguments:?}: {told}");
    }
    Ok(())
}

/// A report as an older program, or another one, may have left it: its cells hold anything.
fn report(text: &str) -> String {
    use musterbench::record::run_record::columns;
    let cell = format!("\"{}\"", text.replace('"', "\"\""));
    let value = |column: &String| match column.as_str() {
        "format" | "run" => "1".to_owned(),
        "simulated" => "no".into(),
        "value" => "0.5".into(),
        "verdict" => "fail".into(),
        "unit" => "A".into(),
        "blame" | "output" | "position" | "style" | "bound" | "time" | "uncertainty" | "risk"
        | "lower_limit" | "upper_limit" | "guard_band" | "outside" | "repeats"
        | "repeats_failed" | "spread" | "drift" | "drift_uncertainty" | "address_wanted"
        | "address_found" => String::new(),
        _ => cell.clone(),
    };
    let columns = columns();
    let row: Vec<String> = columns.iter().map(value).collect();
    format!("{}\r\n{}\r\n", columns.join(","), row.join(","))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]
    #[test]
    fn no_cell_of_a_report_reaches_the_terminal_raw(
        text in "[a-z \\[\\];0-9m\u{1}-\u{1f}\u{7f}-\u{9f}\u{61c}\u{200e}\u{202a}-\u{202e}\u{2066}-\u{2069}]{1,12}"
    ) {
        let temporary = tempfile::tempdir().expect("a folder");
        let folder = temporary.path();
        let given = text.as_str();
        let named = format!("{text}.csv");
        fs::write(folder.join(&named), report(&text)).expect("written");
        fs::write(folder.join("run-001.csv"), report(&text)).expect("written");
        for arguments in [
            &["explain", "run-001.csv", "2"][..],
            &["explain", "run-001.csv", "2", "--json"],
            &["explain", "run-001.csv", given],
            &["explain", &named, "2"],
            &["trial", "run-001.csv", &named],
            &["trial", "run-001.csv", "--json"],
        ] {
            check(folder, arguments)?;
        }
    }
}
