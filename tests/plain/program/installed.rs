//! What comes with an installation: versions, manual pages, completions, tables for spreadsheets.

use crate::kit::program::{assert_one_sentence, done, refused, report, simulated_run};
use musterbench::cli::Arguments;
use musterbench::wire::PROTOCOL;
use std::fs;

#[test]
fn the_version_tells_commit_and_language() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = done(folder.path(), &["--version"]);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], concat!("musterbench ", env!("CARGO_PKG_VERSION")));
    assert!(lines[1].starts_with("commit "), "{text}");
    assert_eq!(lines[2], format!("jig language {PROTOCOL}"));
}

/// Every command has its page, every command and option stands in the completions.
#[test]
fn manual_pages_and_completions_are_of_all_commands() {
    let folder = tempfile::tempdir().expect("a folder");
    done(folder.path(), &["manual", "papers"]);
    let papers = folder.path().join("papers");
    let read = |path: &str| fs::read_to_string(papers.join(path)).expect("written");
    let bash = read("completions/musterbench.bash");
    for shell in ["_musterbench", "musterbench.fish", "_musterbench.ps1"] {
        assert!(read(&format!("completions/{shell}")).contains("recover"), "{shell}");
    }
    let definition = <Arguments as clap::CommandFactory>::command();
    for command in definition.get_subcommands() {
        let name = command.get_name();
        let page = read(&format!("man/man1/musterbench-{name}.1"));
        assert!(page.contains(".SH SYNOPSIS") && bash.contains(name), "{name}");
        for long in
            command.get_arguments().filter(|a| !a.is_hide_set()).filter_map(|a| a.get_long())
        {
            let in_page = page.contains(&format!("\\-\\-{}", long.replace('-', "\\-")));
            assert!(in_page && bash.contains(&format!("--{long}")), "{name} --{long}");
        }
    }
}

#[test]
fn a_report_is_copied_for_spreadsheets() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    simulated_run(folder);
    let file = report(folder, 1);
    let before = fs::read(&file).expect("there");
    let name = file.to_str().expect("text");
    let text = done(folder, &["export", name]);
    assert!(text.starts_with("\u{feff}format;module;lot;"), "{text}");
    let comma = text.lines().skip(1).any(|row| row.split(';').any(|cell| cell.starts_with("0,0")));
    assert!(comma, "{text}");
    assert_eq!(fs::read(&file).expect("there"), before, "the record stays");
    done(folder, &["export", "records/unsorted/lot.csv", "--out", "lot-for-me.csv"]);
    let again = refused(folder, &["export", name, "--out", "lot-for-me.csv"]);
    assert_one_sentence(&again);
    fs::write(folder.join("groceries"), "bread\n").expect("written");
    let refusal = refused(folder, &["export", "groceries"]);
    assert_one_sentence(&refusal);
}

/// A decimal comma is never taken for anything.
#[test]
fn decimal_commas_get_a_sentence() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    fs::write(
        folder.join("comma.toml"),
        "title = \"Try\"\nsteps = [\n  { wait = \"2,5 s\" },\n]\n",
    )
    .expect("written");
    let text = refused(folder, &["script", "check", "comma.toml"]);
    assert!(text.contains("decimal point"), "{text}");
    let run = ["test", "--module", "P4-1", "--port", "simulated", "--unattended"];
    let text = refused(folder, &[&run[..], &["--fault", "contact-burnt=0,5"]].concat());
    assert!(text.contains("decimal point"), "{text}");
}
