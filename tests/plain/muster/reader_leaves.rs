//! A program that reads along with `--json`, and leaves.

use crate::kit::program::{complaint, musterbench, rows};
use crate::kit::terminal::Terminal;
use std::fs::File;
use std::io::{BufRead, BufReader};

/// Then the muster ends as if it had been stopped: the module whose run is cut short is to be tested again.
#[test]
fn who_reads_along_and_leaves_stops_the_muster() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let mut open = musterbench(folder);
    open.args(["lot", "open", "spring", "--kind", "jetty-two", "--serial", "m-{}", "--count", "2"]);
    assert_eq!(complaint(&open.output().expect("it starts")), (0, String::new()));
    let pipe = folder.join("pipe");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status().expect("it starts");
    assert!(made.success());
    let given = "muster spring --port simulated --operator Ines --json";
    let mut person = Terminal::with_events(folder, given, "pipe");
    let mut reader = BufReader::new(File::open(&pipe).expect("a pipe"));
    let mut first = String::new();
    reader.read_line(&mut first).expect("a line");
    assert!(first.contains("\"event\""), "{first}");
    person.hears("Enter start");
    drop(reader);
    person.types("\r");
    assert_eq!(person.ends(), 5, "{}", person.everything());
    let fates: Vec<String> = rows(&folder.join("records/spring/modules.csv"))
        .iter()
        .map(|row| row["fate"].clone())
        .collect();
    assert_eq!(fates, ["waiting", "waiting"]);
}
