//! Musters that are killed at random instants, and go on.

use super::program::{complaint, musterbench, rows};
use super::terminal::Terminal;
use rand::{RngExt, SeedableRng};
use rand_xoshiro::SplitMix64;
use std::collections::BTreeMap;
use std::path::Path;
use std::time::{Duration, Instant};

const MODULES: usize = 4;

/// What was done.
#[derive(Clone, Copy, Debug, Default)]
pub struct Killed {
    /// So many musters were killed, and in the middle of a run.
    pub kills: usize,
    pub midway: usize,
    pub lots: usize,
}

/// Kills musters so often, over as many lots as that takes; each lot comes to its end all the same, with nothing
/// lost and nothing twice.
pub fn killed(kills: usize, seed: u64) -> Killed {
    let mut random = SplitMix64::seed_from_u64(seed);
    let mut done = Killed::default();
    while done.kills < kills {
        let folder = tempfile::tempdir().expect("a folder");
        open(folder.path());
        let mut goes_on_with = None;
        loop {
            let at_most = (done.kills < kills).then(|| random.random_range(10..1200));
            let was = one(folder.path(), at_most.map(Duration::from_millis), goes_on_with.take());
            match was {
                Was::Ended => break,
                Was::Killed { seated, midway } => {
                    done.kills += 1;
                    done.midway += usize::from(midway);
                    goes_on_with = seated;
                }
            }
        }
        done.lots += 1;
        check(folder.path());
    }
    done
}

enum Was {
    Ended,
    Killed { seated: Option<String>, midway: bool },
}

fn open(folder: &Path) {
    let mut open = musterbench(folder);
    open.args(["lot", "open", "spring", "--count", &MODULES.to_string(), "--serial", "m-{}"]);
    assert_eq!(complaint(&open.output().expect("it starts")), (0, String::new()));
}

/// What the screen names.
fn named(person: &Terminal, before: &str) -> Option<String> {
    let screen = person.screen();
    let row = screen.iter().find_map(|row| row.strip_prefix(before))?;
    let end = row.find([' ', ',']).unwrap_or(row.len());
    Some(row[..end].to_owned())
}

/// One muster, killed after a time, if it has not ended before.
fn one(folder: &Path, at_most: Option<Duration>, goes_on_with: Option<String>) -> Was {
    let given = "muster spring --port simulated --operator Ines --json";
    let mut person = Terminal::with_events(folder, given, "events.jsonl");
    let began = Instant::now();
    let mut is_first = true;
    loop {
        if person.has_said("Enter start") {
            person.hears("Enter start");
            if let (true, Some(wanted)) = (is_first, &goes_on_with) {
                let is_settled = fates(folder).get(wanted).is_some_and(|fate| fate == "accepted");
                let asked = named(&person, "READY  seat ");
                assert!(is_settled || asked.as_ref() == Some(wanted), "{asked:?}, not {wanted}");
            }
            is_first = false;
            person.types("\r");
        }
        if person.has_ended() {
            assert_eq!(person.ends(), 0, "{}", person.everything());
            return Was::Ended;
        }
        if at_most.is_some_and(|at_most| began.elapsed() >= at_most) {
            let running = named(&person, "TESTS  ");
            let midway = running.is_some();
            let seated = running.or_else(|| named(&person, "READY  seat "));
            person.is_killed();
            return Was::Killed { seated, midway };
        }
        std::thread::sleep(Duration::from_millis(3));
    }
}

fn fates(folder: &Path) -> BTreeMap<String, String> {
    let path = folder.join("records/spring/modules.csv");
    let rows = if path.exists() { rows(&path) } else { Vec::new() };
    rows.into_iter().map(|row| (row["serial"].clone(), row["fate"].clone())).collect()
}

/// Nothing is lost, nothing is there twice.
fn check(folder: &Path) {
    let fates = fates(folder);
    assert_eq!(fates.len(), MODULES);
    assert!(fates.values().all(|fate| fate == "accepted"), "{fates:?}");
    let runs = rows(&folder.join("records/spring/lot.csv"));
    let mut numbers = BTreeMap::new();
    let mut whole: BTreeMap<String, usize> = BTreeMap::new();
    for run in &runs {
        let number = (run["module"].clone(), run["run"].clone());
        assert!(numbers.insert(number, ()).is_none(), "twice: {run:?}");
        *whole.entry(run["module"].clone()).or_default() +=
            usize::from(run["ending"] == "complete");
    }
    assert_eq!(whole.len(), MODULES, "{whole:?}");
    assert!(whole.values().all(|&count| count == 1), "a try each: {whole:?}");
    // What was told is on the disk.
    let events = std::fs::read_to_string(folder.join("events.jsonl")).expect("events");
    let told =
        events.lines().filter_map(|line| serde_json::from_str::<serde_json::Value>(line).ok());
    for event in told.filter(|event| event["event"] == "verdict" && event["ending"] == "whole") {
        let serial = event["serial"].as_str().expect("a serial");
        assert_eq!(whole.get(serial), Some(&1), "{event}");
    }
    let mut recover = musterbench(folder);
    let (code, text) =
        complaint(&recover.args(["recover", "--check"]).output().expect("it starts"));
    assert_eq!((code, text.as_str()), (0, ""), "the records are what was written");
    let left = std::fs::read_dir(folder.join("records/spring/_claims")).expect("there").count();
    assert_eq!(left, 0, "nobody has anything in hand");
}
