//! Whole runs on the simulated bench.

use crate::kit::program::{
    Served, complaint, facts, musterbench, report, rows, said, short_script, test,
};
use std::fs;
use std::path::Path;
use std::process::Output;

fn simulated(folder: &Path, more: &[&str]) -> Output {
    test(folder, &[&["--port", "simulated", "--unattended"], more].concat())
}

#[test]
fn a_damaged_report_is_told_by_recover_and_its_row_stays() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = short_script(folder.path());
    assert_eq!(complaint(&simulated(folder.path(), &["--script", &script])).0, 0);
    let recover = || {
        let output = musterbench(folder.path()).arg("recover").output().expect("it starts");
        (complaint(&output).0, said(&output))
    };
    assert_eq!(recover().0, 0);

    let (path, lot) = (report(folder.path(), 1), folder.path().join("records/unsorted/lot.csv"));
    let before = fs::read(&lot).expect("a list");
    let mut bytes = fs::read(&path).expect("a report");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&path, &bytes).expect("written");
    for _ in 0..2 {
        let (code, text) = recover();
        assert_eq!(code, 4, "{text}");
        assert!(text.contains("damaged: ") && text.contains("run-001.csv"), "{text}");
        assert_eq!(fs::read(&lot).expect("a list"), before, "what the facts file says");
        assert_eq!(fs::read(&path).expect("a report"), bytes, "left as it is");
    }
}

#[test]
fn a_sound_module_passes_and_leaves_the_documented_files() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = simulated(folder.path(), &["--operator", "=Ines"]);
    let (code, errors) = complaint(&output);
    assert_eq!((code, errors.as_str()), (0, ""), "{}", said(&output));
    let text = said(&output);
    assert!(text.starts_with("PASS") && text.contains("SIMULATED"), "{text}");
    assert!(text.replace('\\', "/").contains("records/unsorted/P4-1/run-001.csv"), "{text}");
    assert!(!text.contains('\u{1b}'));

    let bytes = fs::read(report(folder.path(), 1)).expect("a report");
    assert!(bytes.starts_with(b"format,module,lot,run,started,simulated,"));
    assert_eq!(
        bytes.iter().filter(|b| **b == b'\n').count(),
        rows(&report(folder.path(), 1)).len() + 1
    );
    let rows = rows(&report(folder.path(), 1));
    for row in &rows {
        assert_eq!(row["simulated"], "yes");
        assert_eq!(row["operator"], "'=Ines");
        assert_eq!(row["verdict"], "pass", "{row:?}");
        assert!(row["started"].ends_with("+00:00") && row["jig"].starts_with("SIM-"));
        for number in ["value", "uncertainty", "lower_limit", "upper_limit"] {
            assert!(row[number].is_empty() || row[number].parse::<f64>().is_ok(), "{row:?}");
        }
    }
    assert!(rows.len() > 100);
    let facts = facts(folder.path(), 1);
    assert_eq!((&facts["ending"], &facts["readings"]), (&"complete".into(), &rows.len().into()));
    assert_eq!(facts["steps"], facts["planned"]["steps"]);
    // What it was of stands in every row.
    for (column, told) in
        [("kind", "pier-four"), ("rule", "guarded"), ("command_format_found", "dcc")]
    {
        assert!(rows.iter().all(|row| row[column] == told), "{column}");
    }
    assert!(rows.iter().all(|row| row["script_digest"].len() == "sha256:".len() + 12));
    assert!(rows.iter().all(|row| row["address_found"] == rows[0]["address_found"]));
    let times: Vec<f64> = rows.iter().map(|row| row["time"].parse().expect("a time")).collect();
    assert!(times.is_sorted() && times[0] >= 0.0 && times[times.len() - 1] > 10.0, "{times:?}");

    let lot = crate::kit::program::rows(&folder.path().join("records/unsorted/lot.csv"));
    assert_eq!(lot.len(), 1);
    assert_eq!(lot[0]["report"], "P4-1/run-001.csv");
    assert_eq!((lot[0]["verdict"].as_str(), lot[0]["failed"].as_str()), ("pass", "0"));
    assert_eq!(
        fs::read_dir(folder.path().join("records/unsorted/P4-1")).expect("there").count(),
        2
    );
}

#[test]
fn a_faulty_module_fails_and_the_summary_says_what() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = simulated(folder.path(), &["--fault", "output-stuck"]);
    assert_eq!(complaint(&output).0, 1, "{}", said(&output));
    let text = said(&output);
    assert!(text.starts_with("FAIL"), "{text}");
    assert!(text.contains("Most likely the module: output 3"), "{text}");
    assert!(text.contains("told to go to b (astern)") && text.contains("To do:"), "{text}");
    let rows = rows(&report(folder.path(), 1));
    let failed: Vec<_> = rows.iter().filter(|r| r["verdict"] == "fail").collect();
    assert!(failed.len() > 1 && failed.iter().all(|r| !r["blame"].is_empty()));
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let folders: Vec<_> = (0..3).map(|_| tempfile::tempdir().expect("a folder")).collect();
    for (folder, seed) in folders.iter().zip(["7", "7", "8"]) {
        simulated(folder.path(), &["--seed", seed, "--fault", "long-bounce"]);
    }
    let bytes: Vec<_> =
        folders.iter().map(|f| fs::read(report(f.path(), 1)).expect("a report")).collect();
    assert!(bytes[0] == bytes[1]);
    assert!(bytes[0] != bytes[2]);
}

#[test]
fn json_lines_tell_what_the_report_holds() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = simulated(folder.path(), &["--json"]);
    let text = said(&output);
    let lines: Vec<serde_json::Value> =
        text.lines().map(|l| serde_json::from_str(l).expect("an object")).collect();
    let (began, ended) = (&lines[0], &lines[lines.len() - 1]);
    assert_eq!((&began["event"], &began["simulated"]), (&"began".into(), &true.into()));
    assert_eq!((&ended["event"], &ended["verdict"]), (&"ended".into(), &"pass".into()));
    let rows = rows(&report(folder.path(), 1));
    assert_eq!(lines.len() - 2, rows.len());
    for (line, row) in lines[1..].iter().zip(&rows) {
        assert_eq!(line["quantity"], row["quantity"]);
        // The parser of the test may be wrong by the last bit.
        let (told, kept) = (line["value"].as_f64(), row["value"].parse::<f64>().ok());
        assert_eq!(told.is_some(), kept.is_some());
        let (told, kept) = (told.unwrap_or(0.0), kept.unwrap_or(0.0));
        assert!((told - kept).abs() <= kept.abs() * f64::EPSILON, "{told} {kept}");
    }
}

#[test]
fn samples_are_kept_where_that_is_wanted() {
    let folder = tempfile::tempdir().expect("a folder");
    simulated(folder.path(), &["--samples", "samples"]);
    let files = fs::read_dir(folder.path().join("samples")).expect("there").count();
    assert!(files > 20, "{files}");
}

#[test]
fn two_runs_at_once_on_one_module_keep_apart() {
    let folder = tempfile::tempdir().expect("a folder");
    let start = || {
        let mut command = musterbench(folder.path());
        command.args(["test", "--module", "P4-1", "--port", "simulated", "--unattended"]);
        command.stdout(std::process::Stdio::null()).spawn().expect("it starts")
    };
    let children: Vec<_> = (0..4).map(|_| start()).collect();
    for mut child in children {
        assert_eq!(child.wait().expect("it ends").code(), Some(0));
    }
    let lot = rows(&folder.path().join("records/unsorted/lot.csv"));
    let mut runs: Vec<_> = lot.iter().map(|row| row["run"].clone()).collect();
    runs.sort();
    assert_eq!(runs, ["1", "2", "3", "4"]);
}

#[test]
fn over_a_serial_line_a_run_reads_the_same() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = short_script(folder.path());
    let bench = Served::start(folder.path(), &[]);
    let serial = test(folder.path(), &["--port", &bench.path, "--unattended", "--script", &script]);
    assert_eq!(complaint(&serial), (0, String::new()), "{}", said(&serial));
    let here = simulated(folder.path(), &["--script", &script]);
    assert_eq!(complaint(&here).0, 0);
    let [serial, here] = [1, 2].map(|run| rows(&report(folder.path(), run)));
    let told = |rows: &[std::collections::HashMap<String, String>]| -> Vec<[String; 5]> {
        let columns = ["simulated", "step", "quantity", "verdict", "blame"];
        rows.iter().map(|row| columns.map(|c| row[c].clone())).collect()
    };
    assert_eq!(told(&serial), told(&here));
}
