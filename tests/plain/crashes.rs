//! Kills, full disks and lost devices at any instant: a reading that was told is in the report.
//!
//! The proof: with `--json` the program prints a reading only once it is durable. Whatever happens
//! to it then, the report that is there afterwards (finished, or recovered from the journal) must
//! begin with the very readings that were printed.
//!
//! `MUSTERBENCH_CRASHES=200 cargo test --test plain crashes::` tries more instants.

use crate::kit::program::{Served, is_foreign, musterbench, rows, short_script};
use rand::RngExt;
use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// How many instants are tried: so many in-process, a tenth over a serial line in real time.
fn crashes() -> u64 {
    std::env::var("MUSTERBENCH_CRASHES").ok().and_then(|n| n.parse().ok()).unwrap_or(20)
}

/// A run that is being listened to.
struct Run {
    child: Child,
    listener: JoinHandle<Vec<serde_json::Value>>,
    complaints: JoinHandle<String>,
}

impl Run {
    fn start(mut command: Command) -> Self {
        let mut child =
            command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts");
        let out = BufReader::new(child.stdout.take().expect("piped"));
        let listener = std::thread::spawn(move || {
            // A line that was cut off by a kill was not told.
            let whole = out.lines().map_while(Result::ok);
            whole.filter_map(|line| serde_json::from_str(&line).ok()).collect()
        });
        let mut errors = child.stderr.take().expect("piped");
        let complaints =
            std::thread::spawn(move || std::io::read_to_string(&mut errors).unwrap_or_default());
        Run { child, listener, complaints }
    }

    /// Waits for its end: how it ended, the readings that it told, and what it complained of.
    fn end(mut self) -> (ExitStatus, Vec<serde_json::Value>, String) {
        let status = self.child.wait().expect("it ends");
        let told = self.listener.join().expect("listened");
        let complaints = self.complaints.join().expect("listened");
        assert!(!complaints.contains("panicked"), "{complaints}");
        (status, told, complaints)
    }
}

fn test_command(folder: &Path, port: &str) -> Command {
    let mut command = musterbench(folder);
    command.args(["test", "--module", "P4-1", "--unattended", "--json", "--port", port]);
    command
}

fn recover(folder: &Path) {
    let output = musterbench(folder).arg("recover").output().expect("it starts");
    assert!(output.status.success(), "{output:?}");
}

/// Checks the report of a run against what it told. Returns how many readings it told.
fn assert_nothing_lost(folder: &Path, told: &[serde_json::Value]) -> usize {
    let Some(began) = told.iter().find(|line| line["event"] == "began") else { return 0 };
    let run = began["run"].as_u64().expect("a number") as u32;
    let rows = rows(&crate::kit::program::report(folder, run));
    let readings: Vec<_> = told.iter().filter(|line| line["event"] == "reading").collect();
    assert!(rows.len() >= readings.len(), "{} rows, {} told", rows.len(), readings.len());
    for (row, reading) in rows.iter().zip(&readings) {
        for column in ["step", "quantity", "verdict"] {
            assert_eq!(reading[column], row[column], "{row:?}");
        }
        let value = reading["value"].as_f64();
        assert_eq!(value.is_some(), !row["value"].is_empty());
        if let Some(value) = value {
            let kept: f64 = row["value"].parse().expect("a number");
            // The parser of the test may be wrong by the last bit.
            assert!((value - kept).abs() <= kept.abs() * f64::EPSILON, "{value} {kept}");
        }
    }
    let facts = crate::kit::program::facts(folder, run);
    assert_eq!(facts["readings"], rows.len());
    let ended = told.iter().any(|line| line["event"] == "ended" && line["ending"] == "complete");
    assert!(ended || facts["verdict"] != "pass" || facts["ending"] == "complete", "{facts}");
    readings.len()
}

/// Every finished report is listed once, and no journal is left.
fn assert_tidy(folder: &Path) {
    let lot = folder.join("records/unsorted");
    let mut reports: Vec<String> = fs::read_dir(lot.join("P4-1"))
        .expect("there")
        .map(|entry| format!("P4-1/{}", entry.expect("there").file_name().display()))
        // The lock of the folder is a file on some other systems.
        .filter(|name| !(name.ends_with(".facts.json") || is_foreign() && name.ends_with("/_lock")))
        .collect();
    let mut listed: Vec<String> =
        rows(&lot.join("lot.csv")).into_iter().map(|row| row["report"].clone()).collect();
    reports.sort();
    listed.sort();
    assert_eq!(reports, listed);
}

#[test]
fn killed_at_any_instant() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(1);
    let begin = Instant::now();
    assert!(Run::start(test_command(folder, "simulated")).end().0.success());
    let whole_us = begin.elapsed().as_micros() as u64;
    let (mut told_at_all, mut killed) = (0, 0);
    for _ in 0..crashes() {
        let mut run = Run::start(test_command(folder, "simulated"));
        std::thread::sleep(Duration::from_micros(chance.random_range(0..whole_us)));
        run.child.kill().expect("it is there");
        let (status, told, _) = run.end();
        // A program of another system ends with a number where it is killed.
        let was_killed = if is_foreign() { !status.success() } else { status.code().is_none() };
        killed += usize::from(was_killed);
        recover(folder);
        told_at_all += assert_nothing_lost(folder, &told);
        if folder.join("records/unsorted/lot.csv").exists() {
            assert_tidy(folder);
        }
    }
    println!("{killed} of {} killed, {told_at_all} readings told, none lost", crashes());
    assert!(killed > 0);
}

#[test]
fn killed_over_a_serial_line() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let script = short_script(folder);
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(2);
    let mut told_at_all = 0;
    let bench = Served::start(folder, &[]);
    for _ in 0..crashes().div_ceil(10) {
        let mut command = test_command(folder, &bench.path);
        command.args(["--script", &script]);
        let mut run = Run::start(command);
        std::thread::sleep(Duration::from_micros(chance.random_range(500_000..6_000_000)));
        run.child.kill().expect("it is there");
        let (_, told, _) = run.end();
        recover(folder);
        told_at_all += assert_nothing_lost(folder, &told);
    }
    println!("{} kills, {told_at_all} readings told, none lost", crashes().div_ceil(10));
    // The next run finds the bench free and the module's numbers going on.
    let mut command = test_command(folder, &bench.path);
    command.args(["--script", &script]);
    let (status, told, complaints) = Run::start(command).end();
    assert_eq!(status.code(), Some(0), "{complaints}");
    assert!(assert_nothing_lost(folder, &told) > 0);
    assert_tidy(folder);
}

#[test]
fn the_next_run_finishes_the_report_of_a_dead_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let script = short_script(folder);
    let bench = Served::start(folder, &[]);
    let mut command = test_command(folder, &bench.path);
    command.args(["--script", &script]);
    let mut run = Run::start(command);
    let journal = folder.join("records/unsorted/P4-1/run-001.journal");
    while !journal.exists() {
        std::thread::sleep(Duration::from_millis(5));
    }
    std::thread::sleep(Duration::from_millis(1500));
    // As long as it lives nobody touches its journal.
    recover(folder);
    assert!(journal.exists());
    run.child.kill().expect("it is there");
    let (_, told, _) = run.end();

    let (status, _, complaints) = Run::start(test_command(folder, "simulated")).end();
    assert_eq!(status.code(), Some(0), "{complaints}");
    assert!(complaints.contains("An earlier run was cut off"), "{complaints}");
    assert!(!journal.exists());
    assert_nothing_lost(folder, &told);
    assert_tidy(folder);
}

#[test]
fn the_device_goes_away_at_any_instant() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let script = short_script(folder);
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(3);
    let mut told_at_all = 0;
    for _ in 0..crashes().div_ceil(10) {
        let bench = Served::start(folder, &[]);
        let mut command = test_command(folder, &bench.path);
        command.args(["--script", &script]);
        let run = Run::start(command);
        std::thread::sleep(Duration::from_micros(chance.random_range(300_000..5_000_000)));
        drop(bench);
        let (status, told, complaints) = run.end();
        let code = status.code().expect("not killed");
        assert!(matches!(code, 0 | 4), "{code}: {complaints}");
        // No need to recover: it could finish its report by itself.
        told_at_all += assert_nothing_lost(folder, &told);
    }
    println!("{} unplugged, {told_at_all} readings told, none lost", crashes().div_ceil(10));
}

/// Whether the system's word for it is told.
fn says_full(text: &str) -> bool {
    let of_others = ["Disk full", "not enough space"];
    text.contains("No space left")
        || is_foreign() && of_others.iter().any(|words| text.contains(words))
}

/// A small disk, gone when dropped.
struct SmallDisk<'a>(&'a Path);

impl<'a> SmallDisk<'a> {
    fn mount(at: &'a Path) -> Self {
        let mounted =
            Command::new("mount").args(["-t", "tmpfs", "-o", "size=4m", "tmpfs"]).arg(at).status();
        assert!(mounted.is_ok_and(|status| status.success()), "this user may mount no small disk");
        SmallDisk(at)
    }

    /// Leaves this many bytes free.
    fn fill(&self, free: u64) {
        let path = self.0.join("ballast");
        let mut ballast = fs::File::create(&path).expect("made");
        while ballast.write_all(&[1; 4096]).is_ok() {}
        let length = ballast.metadata().expect("known").len();
        ballast.set_len(length.saturating_sub(free)).expect("cut");
    }

    fn empty(&self) {
        fs::remove_file(self.0.join("ballast")).expect("removed");
    }
}

impl Drop for SmallDisk<'_> {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0).status();
    }
}

#[test]
#[ignore = "needs a user who may mount a small disk; `.ci/run` asks for it"]
fn a_disk_that_is_full_sooner_or_later() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let records = folder.join("records");
    fs::create_dir(&records).expect("made");
    let disk = SmallDisk::mount(&records);
    let (mut refused, mut kept, mut unrecorded, mut finished) = (0, 0, 0, 0);
    for free in (0..1536 * 1024).step_by(48 * 1024) {
        disk.fill(free);
        let (status, told, complaints) = Run::start(test_command(folder, "simulated")).end();
        let ending = told.iter().find(|line| line["event"] == "ended");
        let journals = || {
            let names = fs::read_dir(records.join("unsorted/P4-1")).into_iter().flatten();
            names
                .filter(|e| {
                    e.as_ref().is_ok_and(|e| e.path().extension().is_some_and(|x| x == "journal"))
                })
                .count()
        };
        disk.empty();
        match status.code() {
            Some(0) => finished += 1,
            Some(4) if !told.iter().any(|line| line["event"] == "began") => {
                // Not even the journal found its space: the feed was never on.
                refused += 1;
                assert_eq!(journals(), 0, "{free}");
                let why = format!("{complaints}{ending:?}");
                assert!(says_full(&why), "{free}: {why}");
            }
            Some(4) => {
                // The journal has all, the report did not fit.
                kept += 1;
                let reason = ending.expect("an end")["reason"].as_str().expect("a reason");
                assert!(says_full(reason), "{free}: {reason}");
                let ending = ending.expect("an end");
                if ending["ending"] == "unrecorded" {
                    unrecorded += 1;
                    let to_do = ending["to_do"].as_str().expect("what to do");
                    assert!(to_do.contains("need not be tested again"), "{to_do}");
                }
                assert!(told.iter().any(|line| line["event"] == "reading"), "{free}");
            }
            code => panic!("{free}: {code:?} {complaints}"),
        }
        if records.join("unsorted").exists() {
            recover(folder);
            assert_nothing_lost(folder, &told);
            fs::remove_dir_all(records.join("unsorted")).expect("removed");
        }
    }
    println!("{refused} refused, {kept} recovered later, {finished} finished");
    assert!(unrecorded > 0, "the report never failed after a whole run");
    assert!(refused > 0 && kept > 0 && finished > 0, "{refused} {kept} {finished}");
}

#[cfg(unix)]
#[test]
fn files_that_may_not_grow() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = format!(
        "trap '' XFSZ; ulimit -f 16; exec {} test --module P4-1 --port simulated --unattended --json",
        env!("CARGO_BIN_EXE_musterbench")
    );
    let mut command = Command::new("sh");
    command.current_dir(folder.path()).args(["-c", &script]).stdin(Stdio::null());
    let (status, told, complaints) = Run::start(command).end();
    assert_eq!(status.code(), Some(4), "{complaints}");
    let reason = told.last().expect("an end")["reason"].as_str().expect("a reason").to_string();
    assert!(reason.contains("cannot take space for"), "{reason}");
}
