//! Whole runs over a bad line: bytes are lost, doubled, damaged, delayed and cut out, both ways.
//!
//! Whatever becomes of the bytes, a run ends with the verdict of a run over a good line, or with
//! bench trouble; and the board is told what the plan says, in its order, nothing twice.

use super::bad_line::{BadLine, Badness};
use super::bench::{JETTY, QUAY, plan_for, sheet};
use super::noting::Deed;
use super::whole_run::{Run, run};
use core::time::Duration;
use musterbench::jig::board::FeedDrive;
use musterbench::judge::reading::{Quantity, Reading, Verdict};
use musterbench::link::pace::Pace;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::script::plan::Plan;
use musterbench::simulated_bench::Setup;
use musterbench::simulated_bench::faults::find;
use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Every kind of step, in about fifteen seconds.
const EVERY_STEP: &str = include_str!("every_step.toml");

/// A module on the bench, and the run over a good line that all others are held against.
pub struct Case {
    name: String,
    plan: Plan,
    sheet: ModuleSheet,
    fault: Option<&'static str>,
    seed: u64,
    pace: Pace,
    clean: Run,
}

impl Case {
    pub fn new(
        kind: &str,
        script: &str,
        fault: Option<&'static str>,
        seed: u64,
        pace: Pace,
    ) -> Self {
        let sheet = sheet(kind);
        let plan = plan_for(&sheet, script, None);
        let clean = run(&plan, setup(&sheet, fault, seed), pace, |line| line);
        let name = format!("{}, {}, {pace:?}", sheet.kind, fault.unwrap_or("sound"));
        let expected = if fault.is_some() { Verdict::Fail } else { Verdict::Pass };
        assert_eq!(clean.verdict, Some(expected), "{name}: {:#?}", clean.readings);
        assert!(clean.is_safe);
        Case { name, plan, sheet, fault, seed, pace, clean }
    }

    fn over(&self, badness: Badness, seed: u64) -> Run {
        let setup = setup(&self.sheet, self.fault, self.seed);
        run(&self.plan, setup, self.pace, |line| BadLine::new(line, badness, seed))
    }

    /// What is wrong with a run over a bad line; nothing, if all is well.
    fn slips(&self, run: &Run) -> Vec<String> {
        let mut slips = Vec::new();
        let mut must = |holds: bool, what: &str| {
            if !holds {
                slips.push(format!("{} {what}", self.name));
            }
        };
        must(run.is_safe, "leaves the board on");
        must(run.time < HANGS, "hangs");
        let values = self.clean.readings.iter().zip(&run.readings);
        must(values.into_iter().all(|(clean, r)| agrees(clean, r)), "has another value");
        let is_sound = run.aside_is_sound(&self.clean.deeds);
        must(is_sound, "did in a rest or a second try what is never planned");
        let (clean, deeds) = (&self.clean.planned_deeds(), &run.planned_deeds());
        if run.verdict.is_some() {
            must(run.verdict == self.clean.verdict, "ends with another verdict");
            must(run.blame == self.clean.blame, "ends with another blame");
            must(run.outlines().eq(self.clean.outlines()), "has other readings");
            must(deeds == clean, "did something else");
        } else {
            let read = run.outlines().zip(self.clean.outlines());
            must(run.readings.len() <= self.clean.readings.len(), "has more readings");
            must(read.into_iter().all(|(a, b)| a == b), "has other readings before the trouble");
            // In trouble supplies are turned off, by the host or by the jig itself; but all that is
            // turned on, closed or sent is what the plan says, as far as it went.
            let active = |(deed, _): &&(Deed, bool)| !TURNED_OFF.contains(deed);
            let mut planned = clean.iter().filter(active);
            let all = deeds.iter().filter(active).all(|deed| planned.next() == Some(deed));
            must(all, "did something else before the trouble");
        }
        slips
    }
}

fn setup(sheet: &ModuleSheet, fault: Option<&str>, seed: u64) -> Setup {
    let faults = fault.map(|name| find(name).expect("a fault"));
    let faults = faults.into_iter().map(|fault| (fault, fault.default)).collect();
    simulated::setup(sheet, None, faults, seed)
}

/// A run that takes longer, by the clock of the line, is taken to hang.
const HANGS: Duration = Duration::from_secs(600);

const TURNED_OFF: [Deed; 2] = [Deed::Feed(FeedDrive::Off), Deed::LoadSupply(false)];

/// What came of all runs at one rate.
#[derive(Debug, Default)]
struct Row {
    runs: usize,
    clean: usize,
    trouble: usize,
    repeats: u64,
    exchanges: u64,
    longest: Duration,
    /// Runs in which loads rested, or a step was taken again.
    rests: usize,
    /// How often each class of trouble ended a run, by the beginning of its sentence.
    classes: BTreeMap<String, usize>,
    slips: Vec<String>,
}

/// So many characters of a sentence tell the class of a trouble.
const CLASS: usize = 60;

/// Makes `runs` runs at a rate, dealt out over the cases, on all cores.
fn runs_at(cases: &[Case], rate: f64, runs: usize) -> Row {
    let (next, row) = (AtomicUsize::new(0), Mutex::new(Row::default()));
    let work = || {
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            if at >= runs {
                return;
            }
            let case = &cases[at % cases.len()];
            let run = case.over(Badness::at(rate), at as u64);
            let slips = case.slips(&run);
            let mut row = row.lock().expect("no panic");
            row.runs += 1;
            row.clean += usize::from(run.verdict == case.clean.verdict);
            row.trouble += usize::from(run.verdict.is_none());
            row.rests += usize::from(!run.aside.is_empty());
            if run.verdict.is_none() {
                let class: String = run.trouble.chars().take(CLASS).collect();
                *row.classes.entry(class).or_default() += 1;
            }
            row.repeats += run.traffic.repeats;
            row.exchanges += run.traffic.exchanges;
            row.longest = row.longest.max(run.time);
            row.slips.extend(slips.into_iter().map(|slip| format!("{slip} (line {at})")));
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(work);
        }
    });
    row.into_inner().expect("no panic")
}

/// Makes the runs, prints the table and holds it against what is promised.
pub fn table(cases: &[Case], plan: &[(f64, usize)]) {
    let mut text = String::from(
        "byte error rate     runs   clean verdict      trouble   other verdict   lines again   with rests   longest\n",
    );
    let mut slips = Vec::new();
    for &(rate, runs) in plan {
        let row = runs_at(cases, rate, runs);
        let Row { clean, trouble, .. } = row;
        let share = clean as f64 / runs as f64;
        let line = format!(
            "{rate:<15e} {runs:>8} {clean:>7} ({:5.1} %) {trouble:>12} {:>15} {:>11.2} % {:>12} {:>7.1} s\n",
            100.0 * share,
            runs - clean - trouble,
            100.0 * row.repeats as f64 / row.exchanges.max(1) as f64,
            row.rests,
            row.longest.as_secs_f64(),
        );
        text.push_str(&line);
        for (class, count) in &row.classes {
            text.push_str(&format!("{:>24}  {class} …\n", count));
        }
        slips.extend(row.slips.into_iter().map(|slip| format!("at {rate:e}: {slip}")));
        let least = if rate <= 1e-3 {
            0.99
        } else if rate <= 3e-3 {
            0.50
        } else {
            0.0
        };
        if share < least {
            slips.push(format!("at {rate:e}: only {clean} of {runs} end with the clean verdict"));
        }
    }
    println!("{text}");
    assert!(slips.is_empty(), "{} slips: {:#?}", slips.len(), &slips[..slips.len().min(20)]);
}

/// Whether two readings of one thing agree within their uncertainties. Only where the thing itself
/// is the same each time: how a contact bounces between two samples, or how empty the reservoir is
/// after a longer rest, is another matter.
fn agrees(one: &Reading, other: &Reading) -> bool {
    let steady = matches!(
        one.quantity,
        Quantity::FeedResistance
            | Quantity::FeedVoltage
            | Quantity::LoadVoltage
            | Quantity::LoadCurrent
            | Quantity::OpenCurrent
            | Quantity::ContactResistance
            | Quantity::Answers
            | Quantity::AnswersInverted
            | Quantity::UnwantedMoves
            | Quantity::WrongPositions
    );
    let values = one.value.zip(other.value);
    let reach = one.uncertainty.unwrap_or(0.0) + other.uncertainty.unwrap_or(0.0);
    !steady || values.is_none_or(|(one, other)| (one - other).abs() <= reach)
}

/// Sound modules of two kinds, in both command formats, and two faulty ones; over USB, and some
/// over a slow line.
pub fn cases() -> Vec<Case> {
    [
        (QUAY, None, Pace::USB),
        (JETTY, None, Pace::USB),
        (QUAY, Some("moves-at-power-on"), Pace::USB),
        (JETTY, Some("one-group-away"), Pace::USB),
        (JETTY, None, Pace::UART),
        (QUAY, None, Pace::UART),
    ]
    .into_iter()
    .zip(1..)
    .map(|((kind, fault, pace), seed)| Case::new(kind, EVERY_STEP, fault, seed, pace))
    .collect()
}
