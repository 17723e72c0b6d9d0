//! Several programs on one folder of records, at the same time.

use crate::kit::program::{complaint, musterbench, report, rows, short_script};
use std::process::{Child, Stdio};

/// As many at once.
const PROGRAMS: usize = 6;

#[test]
fn programs_on_one_folder_lose_nothing_and_take_no_number_twice() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let script = short_script(folder);
    let start = |module: &str| -> Child {
        let mut command = musterbench(folder);
        command.args(["test", "--module", module, "--port", "simulated", "--unattended"]);
        command.args(["--script", &script]).stdout(Stdio::piped()).stderr(Stdio::piped());
        command.spawn().expect("it starts")
    };
    // Half of them on one module, half on modules of their own.
    let others: Vec<String> = (0..PROGRAMS / 2).map(|n| format!("P5-{n}")).collect();
    let all = others.iter().map(String::as_str).chain(std::iter::repeat_n("P4-1", PROGRAMS / 2));
    let running: Vec<Child> = all.map(start).collect();
    for child in running {
        let output = child.wait_with_output().expect("it ends");
        // It may say that the disk is slow, with so many at once.
        let (code, text) = complaint(&output);
        assert!(code == 0 && !text.contains("cannot"), "{code}: {text}");
    }
    let mut listed: Vec<(String, String)> = rows(&folder.join("records/unsorted/lot.csv"))
        .into_iter()
        .map(|row| (row["module"].clone(), row["run"].clone()))
        .collect();
    listed.sort();
    let same = (1..=PROGRAMS / 2).map(|run| ("P4-1".into(), run.to_string()));
    let each = others.iter().map(|module| (module.clone(), "1".into()));
    assert_eq!(listed, same.chain(each).collect::<Vec<(String, String)>>());
    for run in 1..=PROGRAMS / 2 {
        assert!(report(folder, run as u32).exists(), "run {run}");
    }
}
