//! Runs that do not come to their end: stopped, or left by their jig.

use crate::kit::program::{
    Served, complaint, facts, musterbench, report, rows, said, short_script, signal,
};
use rustix::process::Signal;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Output, Stdio};

/// Begins a run on a served bench, does something to it once a reading was told, and waits for its
/// end. Returns what it said, and how many readings it told.
fn disturb(folder: &Path, bench: &Served, disturbance: impl FnOnce(u32)) -> (Output, usize) {
    let script = short_script(folder);
    let mut command = musterbench(folder);
    command.args(["test", "--module", "P4-1", "--port", &bench.path, "--unattended", "--json"]);
    command.args(["--script", &script]).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("it starts");
    let mut lines = BufReader::new(child.stdout.take().expect("piped")).lines();
    let told = |line: &str| line.contains("\"event\":\"reading\"");
    let first = lines.by_ref().map_while(Result::ok).find(|line| told(line));
    assert!(first.is_some(), "no reading");
    disturbance(child.id());
    let more = lines.map_while(Result::ok).filter(|line| told(line)).count();
    (child.wait_with_output().expect("it ends"), 1 + more)
}

/// The report says that it was cut short, and holds every reading that was told.
fn assert_cut_short(folder: &Path, told: usize, why: &str) {
    let rows = rows(&report(folder, 1));
    let facts = facts(folder, 1);
    let (ending, reason) = (&facts["ending"], facts["reason"].as_str().unwrap_or_default());
    assert!(ending == why || ending == "trouble" && reason.contains(why), "{ending} {reason}");
    assert_ne!(facts["verdict"], "pass");
    assert!(rows.len() >= told, "{} rows, {told} told", rows.len());
}

#[test]
fn ctrl_c_stops_the_run_and_keeps_what_was_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = Served::start(folder.path(), &[]);
    for number in [Signal::INT, Signal::TERM] {
        let records = folder.path().join("records");
        let _ = std::fs::remove_dir_all(&records);
        let (output, told) = disturb(folder.path(), &bench, |id| {
            signal(id, number);
            signal(id, number);
        });
        let (code, text) = complaint(&output);
        assert_eq!(code, 5, "{text}");
        assert_cut_short(folder.path(), told, "stopped");
    }
    // The feed is off, and the bench is free for the next one.
    let script = short_script(folder.path());
    let output = crate::kit::program::test(
        folder.path(),
        &["--port", &bench.path, "--unattended", "--script", &script],
    );
    assert_eq!(complaint(&output).0, 0, "{}", said(&output));
}

#[test]
fn a_jig_that_goes_away_in_the_middle() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = Served::start(folder.path(), &[]);
    let (output, told) = disturb(folder.path(), &bench, |_| signal(bench.id(), Signal::KILL));
    assert_eq!(complaint(&output).0, 4);
    assert_cut_short(folder.path(), told, "gone");
}

#[test]
fn a_jig_that_stops_answering_in_the_middle() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = Served::start(folder.path(), &[]);
    let (output, told) = disturb(folder.path(), &bench, |_| signal(bench.id(), Signal::STOP));
    assert_eq!(complaint(&output).0, 4);
    assert_cut_short(folder.path(), told, "stopped answering");
}
