//! Two jigs with one screen: each does its modules, and one that fails leaves the other at work.

use crate::kit::program::{Served, complaint, musterbench, rows};
use crate::kit::terminal::Terminal;
use std::path::Path;

fn open(folder: &Path, count: &str) {
    let mut open = musterbench(folder);
    open.args(["lot", "open", "spring", "--count", count, "--serial", "m-{}"]);
    assert_eq!(complaint(&open.output().expect("it starts")), (0, String::new()));
}

fn accepted(folder: &Path) -> usize {
    let rows = rows(&folder.join("records/spring/modules.csv"));
    rows.iter().filter(|row| row["fate"] == "accepted" && row["tries"] == "1").count()
}

#[test]
fn two_jigs_share_a_lot_and_a_screen() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    open(folder, "4");
    let ports = ["--port", "simulated", "--port", "simulated"];
    let given = [&["muster", "spring", "--operator", "Ines"][..], &ports].concat();
    let mut person = Terminal::start(folder, &given);
    // Each wants a module of its own.
    let (one, other) = ("READY  seat m-01, then start", "READY  seat m-02, then start");
    let beside = |left: &str, right: &str| format!("{left}{:13}{right}", "");
    person.hears_one_of(&[&beside(one, other), &beside(other, one)]);
    while !person.has_ended() {
        let is_ready = person.screen().iter().any(|row| row.starts_with("Enter start"));
        person.types(if is_ready { "\r" } else { "\t" });
        person.pauses();
    }
    assert_eq!(person.ends(), 0, "{}", person.everything());
    assert_eq!(accepted(folder), 4, "{}", person.everything());
}

#[test]
fn a_jig_that_fails_leaves_the_other_at_work() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    open(folder, "2");
    let [first, second] = [1, 2].map(|seed| Served::start(folder, &["--seed", &seed.to_string()]));
    let given =
        ["muster", "spring", "--operator", "Ines", "--port", &first.path, "--port", &second.path];
    let mut person = Terminal::start(folder, &given);
    person.hears("READY  seat m-");
    person.pauses();
    drop(first);
    person.hears("BENCH TROUBLE");
    person.types("2");
    person.hears(">2 ");
    person.types("q");
    assert_eq!(person.ends(), 5, "{}", person.everything());
}
