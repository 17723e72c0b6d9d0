//! A whole day at a terminal: a lot of 24 with five bad ones, everything that must be repeated included. A person
//! reads the screen and answers it; how long hands take is drawn, how long the bench takes is told by its clock.

use crate::kit::program::{complaint, musterbench, rows};
use crate::kit::terminal::Terminal;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_xoshiro::SplitMix64;
use serde_json::Value;
use std::path::Path;

const MODULES: usize = 24;

/// The bad ones.
const BAD: [(usize, &str); 5] = [
    (3, "output-stuck"),
    (7, "contact-misses"),
    (11, "controller-dead"),
    (16, "output-stuck"),
    (20, "contact-burnt"),
];

/// How long hands take, in seconds, from and to: common practice, no source.
const TAKES_OUT: (f64, f64) = (4.0, 9.0);
const SEATS: (f64, f64) = (12.0, 25.0);
const PRESSES: (f64, f64) = (0.5, 1.5);
const READS: (f64, f64) = (2.0, 4.0);
const SCANS: (f64, f64) = (2.0, 4.0);

/// What the bench needs besides its runs, for each: the signs of light and sounder.
const SIGNS_S: f64 = 2.0;

/// A day, in figures.
#[derive(Debug, Default)]
struct Day {
    seatings: usize,
    keys: usize,
    scans: usize,
    hands_s: f64,
    bench_s: f64,
}

impl Day {
    fn an_hour(&self) -> f64 {
        MODULES as f64 * 3600.0 / (self.hands_s + self.bench_s)
    }

    /// Seating and keys.
    fn acts(&self) -> f64 {
        (self.seatings + self.keys) as f64 / self.seatings as f64
    }
}

/// The module that the screen asks for.
fn asked_for(person: &Terminal) -> Option<String> {
    let screen = person.screen();
    let row = screen.iter().find_map(|row| row.strip_prefix("READY  seat "))?;
    let end = row.find([' ', ','])?;
    Some(row[..end].to_owned())
}

fn a_day(kind: &str, seed: u64) -> Day {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let mut open = musterbench(folder);
    open.args(["lot", "open", "spring", "--kind", kind, "--serial", "m-{}"]);
    open.args(["--count", &MODULES.to_string()]);
    assert_eq!(complaint(&open.output().expect("it starts")), (0, String::new()));
    let bad: String = BAD.iter().map(|(n, fault)| format!(" --with m-{n:02}={fault}")).collect();
    let given = format!("muster spring --port simulated --operator Ines --json{bad}");
    let mut person = Terminal::with_events(folder, &given, "events.jsonl");
    let mut random = SplitMix64::seed_from_u64(seed);
    let mut day = Day::default();
    let mut fresh: Vec<String> = (1..=MODULES).map(|n| format!("m-{n:02}")).collect();
    while person.hears_or_ends("Enter start") {
        let mut takes = |(from, to): (f64, f64)| random.random_range(from..to);
        if day.seatings > 0 {
            day.hands_s += takes(READS) + takes(TAKES_OUT);
        }
        let mut serial = asked_for(&person).expect("a module is asked for");
        if day.seatings % 6 == 5 && fresh.contains(&serial) {
            // Another one is at hand: its label is scanned.
            let other = fresh.choose(&mut random).expect("some").clone();
            if other != serial {
                person.types(&format!("{other}\r\n"));
                person.hears(&format!("seat {other}"));
                person.hears("Enter start");
                day.scans += 1;
                day.hands_s += random.random_range(SCANS.0..SCANS.1);
                serial = other;
            }
        }
        fresh.retain(|one| *one != serial);
        let mut takes = |(from, to): (f64, f64)| random.random_range(from..to);
        day.hands_s += takes(SEATS) + takes(PRESSES);
        person.types("\r");
        (day.seatings, day.keys) = (day.seatings + 1, day.keys + 1);
        assert!(day.seatings < 4 * MODULES, "{}", person.everything());
    }
    assert_eq!(person.ends(), 0, "{}", person.everything());
    let events = std::fs::read_to_string(folder.join("events.jsonl")).expect("events");
    let events: Vec<Value> =
        events.lines().map(|line| serde_json::from_str(line).expect("an object")).collect();
    let verdicts: Vec<&Value> = events.iter().filter(|e| e["event"] == "verdict").collect();
    assert_eq!(verdicts.len(), day.seatings);
    day.bench_s = verdicts.iter().map(|e| e["seconds"].as_f64().expect("a time") + SIGNS_S).sum();
    assert_eq!(events.last().expect("an end")["event"], "ended");
    check_fates(folder);
    day
}

fn check_fates(folder: &Path) {
    let rows = rows(&folder.join("records/spring/modules.csv"));
    assert_eq!(rows.len(), MODULES);
    for (n, row) in (1..).zip(&rows) {
        let is_bad = BAD.iter().any(|(bad, _)| *bad == n);
        let fate = row["fate"].as_str();
        assert_eq!(fate == "accepted", !is_bad, "{row:?}");
        assert!(matches!(fate, "accepted" | "rejected" | "on hold"), "{row:?}");
    }
}

#[test]
fn twenty_four_modules_and_more_an_hour_with_two_acts_a_seating() {
    let kinds = ["pier-four", "quay-four", "jetty-two"];
    let days: Vec<Day> = std::thread::scope(|scope| {
        let days: Vec<_> = kinds
            .iter()
            .zip(1..)
            .map(|(kind, seed)| scope.spawn(move || a_day(kind, seed)))
            .collect();
        days.into_iter().map(|day| day.join().expect("a day")).collect()
    });
    for (kind, day) in kinds.iter().zip(&days) {
        println!(
            "{kind}: {MODULES} modules in {} seatings, {:.1} an hour, {:.2} acts a seating, {} scans besides; hands \
             {:.0} s, bench {:.0} s",
            day.seatings,
            day.an_hour(),
            day.acts(),
            day.scans,
            day.hands_s,
            day.bench_s
        );
        assert!(day.an_hour() >= 24.0, "{kind}: {day:?}");
        assert!(day.acts() <= 2.0, "{kind}: {day:?}");
        assert!(day.seatings > MODULES, "{kind}: something was repeated: {day:?}");
    }
}
