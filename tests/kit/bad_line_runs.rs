//! Whole runs over a bad line: bytes are lost, doubled, damaged, delayed and cut out, both ways.
//!
//! Whatever becomes of the bytes, a run ends with the verdict of a run over a good line, or with
//! bench trouble; and the board is told what the plan says, in its order, nothing twice.

use super::all_cores;
use super::bad_line::{BadLine, Badness};
use super::bench::{JETTY, QUAY, plan_for, sheet};
use super::noting::Deed;
use super::restarting::Restarting;
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

    fn over(&self, class: &Class, seed: u64) -> Run {
        let setup = setup(&self.sheet, self.fault, self.seed);
        // Any moment of the run, the first and the last included.
        let share = (seed.wrapping_mul(0x9e37_79b9) % 1000) as f64 / 1000.0;
        let at = class.restarts.then(|| self.clean.time.mul_f64(share));
        run(&self.plan, setup, self.pace, |line| {
            BadLine::new(Restarting { inner: line, at }, class.badness, seed)
        })
    }

    /// The longest that a run may take, by the clock of the line: the time of a good line and all rests of loads
    /// that the script allows, as often as lines went out again.
    fn longest(&self, run: &Run) -> Duration {
        let again = run.traffic.repeats as f64 / run.traffic.exchanges.max(1) as f64;
        (self.clean.time + self.plan.longest_rests).mul_f64(1.0 + again) + STALLS
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
        must(run.time < self.longest(run), "takes longer than it may");
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

/// What the stalls of a run may add up to.
const STALLS: Duration = Duration::from_secs(120);

const TURNED_OFF: [Deed; 2] = [Deed::Feed(FeedDrive::Off), Deed::LoadSupply(false)];

/// A class of trouble, and how often it is tried.
#[derive(Clone, Copy, Debug)]
pub struct Class {
    pub name: &'static str,
    pub badness: Badness,
    /// The jig starts anew at some moment.
    pub restarts: bool,
    /// At least this share of the runs ends with the verdict of a good line.
    pub least: f64,
    pub runs: usize,
}

impl Class {
    /// All kinds of damage to bytes at a rate.
    pub fn at(name: &'static str, rate: f64, runs: usize) -> Self {
        let least = match rate {
            rate if rate <= 1e-3 => 0.99,
            rate if rate <= 3e-3 => 0.50,
            _ => 0.0,
        };
        Class { name, badness: Badness::at(rate), restarts: false, least, runs }
    }
}

/// Every class of trouble, in so many runs: 100 or a multiple of it.
pub fn classes(runs: usize) -> Vec<Class> {
    let share = |percent: usize| runs * percent / 100;
    let none = Badness::at(0.0);
    let rough = |name, badness, percent| Class {
        name,
        badness,
        restarts: false,
        least: 0.0,
        runs: share(percent),
    };
    let seconds = Badness { delays: 2e-5, delay_max: Duration::from_secs(8), ..none };
    vec![
        Class::at("bytes, 1e-5", 1e-5, share(20)),
        Class::at("bytes, 1e-4", 1e-4, share(20)),
        Class::at("bytes, 1e-3", 1e-3, share(14)),
        Class::at("bytes, 3e-3", 3e-3, share(9)),
        Class::at("bytes, 1e-2", 1e-2, share(9)),
        rough("stalls up to 8 s", seconds, 8),
        rough("halves of lines", Badness { halves: 2e-4, ..none }, 8),
        rough(
            "all of these",
            Badness { halves: 1e-4, cuts: 3e-5, byte_errors: 3e-4, ..seconds },
            4,
        ),
        Class { restarts: true, ..rough("restart", none, 5) },
        Class { restarts: true, ..rough("restart, bytes, 1e-4", Badness::at(1e-4), 3) },
    ]
}

/// What came of all runs of one class.
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

/// Makes the runs of a class, dealt out over the cases, on all cores.
fn runs_of(cases: &[Case], class: &Class) -> Row {
    let mut row = Row::default();
    let run = |&at: &usize| {
        let case = &cases[at % cases.len()];
        let run = case.over(class, at as u64);
        let slips = case.slips(&run);
        (at, case, run, slips)
    };
    all_cores::in_order(0..class.runs, run, |(at, case, run, slips)| {
        row.runs += 1;
        row.clean += usize::from(run.verdict == case.clean.verdict);
        row.trouble += usize::from(run.verdict.is_none());
        row.rests += usize::from(!run.aside.is_empty());
        if run.verdict.is_none() {
            // How long it took tells no class.
            let is_word = |c: &char| !c.is_ascii_digit();
            let class: String = run.trouble.chars().take(CLASS).filter(is_word).collect();
            *row.classes.entry(class).or_default() += 1;
        }
        row.repeats += run.traffic.repeats;
        row.exchanges += run.traffic.exchanges;
        row.longest = row.longest.max(run.time);
        row.slips.extend(slips.into_iter().map(|slip| format!("{slip} (line {at})")));
    });
    row
}

/// Makes the runs, prints the table and holds it against what is promised.
pub fn table(cases: &[Case], classes: &[Class]) {
    let mut text = String::from(
        "trouble                     runs   clean verdict      trouble   other verdict   lines again   with rests   longest\n",
    );
    let mut slips = Vec::new();
    for class in classes {
        let (name, runs) = (class.name, class.runs);
        let row = runs_of(cases, class);
        let Row { clean, trouble, .. } = row;
        let share = clean as f64 / runs as f64;
        let line = format!(
            "{name:<23} {runs:>8} {clean:>7} ({:5.1} %) {trouble:>12} {:>15} {:>11.2} % {:>12} {:>7.1} s\n",
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
        slips.extend(row.slips.into_iter().map(|slip| format!("{name}: {slip}")));
        if share < class.least {
            slips.push(format!("{name}: only {clean} of {runs} end with the clean verdict"));
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
