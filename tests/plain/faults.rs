//! Every fault of the catalogue is found, and blamed on the right class.
//!
//! The arrival script looks for all but two kinds: the faults of a real load show in place only, on the
//! real loads, and a stuck switch at several addresses. Run with `-- --nocapture` for the table.

use crate::kit::bench::{ARRIVAL, JETTY, PIER, QUAY, Run, plan, run, sheet};
use musterbench::blame::Blame;
use musterbench::judge::reading::Verdict;
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::script::plan::Plan;
use musterbench::script::shipped;
use musterbench::simulated_bench::faults::{Fault, catalogue};

const THOROUGH: &str = include_str!("../../fixtures/scripts/thorough.toml");
const IN_PLACE: &str = include_str!("../../fixtures/scripts/in-place.toml");

/// Benches, modules and places of the fault drawn anew.
const SEEDS: std::ops::RangeInclusive<u64> = 1..=10;

/// Seen only as "no change": an operator must look (a lamp that does not blink may be two lamps in
/// turn), so the verdict is `indeterminate`, not `fail`.
const ASKS_THE_OPERATOR: [&str; 1] = ["lamp-dead"];

/// At one address it looks like a switch that is set wrongly.
const TELLS_ONLY_AT_SEVERAL_ADDRESSES: [&str; 1] = ["address-switch-stuck"];

/// The script that can show a fault.
struct Trial {
    kind: &'static str,
    plan: Plan,
    loads: Option<LoadSheet>,
}

impl Trial {
    fn of(fault: &Fault) -> Trial {
        let loads =
            (fault.class == Blame::Load).then(|| shipped::load_sheet("harbour-basin").unwrap());
        let script = match fault.class {
            Blame::Load => IN_PLACE,
            _ if TELLS_ONLY_AT_SEVERAL_ADDRESSES.contains(&fault.name) => THOROUGH,
            _ => ARRIVAL,
        };
        // Only one of the shipped kinds has an auxiliary supply.
        let kind = if fault.name.starts_with("auxiliary") { JETTY } else { PIER };
        Trial { kind, plan: plan(kind, script, loads.as_ref()), loads }
    }

    fn run(&self, fault: &'static Fault, severity: f64, seed: u64) -> Run {
        let faults = vec![(fault, severity)];
        run(&self.plan, simulated::setup(&sheet(self.kind), self.loads.as_ref(), faults, seed))
    }

    fn finds(&self, fault: &'static Fault, severity: f64, seed: u64) -> bool {
        self.run(fault, severity, seed).outcome.verdict != Verdict::Pass
    }

    /// The smallest severity that is found with this seed, by halving. `None` when even the
    /// default is not.
    fn smallest_found(&self, fault: &'static Fault, seed: u64) -> Option<f64> {
        // A leak does the less the more ohms it has; all others do nothing at zero.
        let mut harmless = if fault.minimum > 0.0 { fault.maximum } else { 0.0 };
        let mut found = fault.default;
        if !self.finds(fault, found, seed) {
            return None;
        }
        for _ in 0..10 {
            let between = if fault.minimum > 0.0 {
                (harmless * found).sqrt()
            } else {
                (harmless + found) / 2.0
            };
            if self.finds(fault, between, seed) {
                found = between;
            } else {
                harmless = between;
            }
        }
        Some(found)
    }
}

#[test]
fn every_fault_is_found_and_blamed_on_its_class() {
    let mut runs = 0;
    let mut blamed = 0;
    let mut missed = Vec::new();
    println!("{:24} {:8} found blamed smallest severity found", "fault", "class");
    for fault in catalogue() {
        let trial = Trial::of(fault);
        let class = fault.class.to_string();
        let mut found = 0;
        let mut right = 0;
        for seed in SEEDS {
            let run = trial.run(fault, fault.default, seed);
            let verdict = run.outcome.verdict;
            let told = verdict == Verdict::Fail
                || (verdict == Verdict::Indeterminate && ASKS_THE_OPERATOR.contains(&fault.name));
            let blame = run.outcome.blame.map(|b| b.to_string());
            found += u32::from(told);
            right += u32::from(told && blame.as_deref() == Some(class.as_str()));
            if !told {
                missed.push(format!("{} with seed {seed}: {}", fault.name, run.text()));
            }
        }
        let count = SEEDS.count() as u32;
        let smallest = trial
            .smallest_found(fault, *SEEDS.start())
            .map_or("-".into(), |s| format!("{s:.4} {}", fault.unit));
        println!("{:24} {class:8} {found:2}/{count} {right:3}/{count} {smallest}", fault.name);
        runs += count;
        blamed += right;
    }
    println!("blamed on the right class: {blamed} of {runs}");
    assert!(missed.is_empty(), "not found:\n{}", missed.join("\n"));
    assert!(blamed * 10 >= runs * 9, "blamed on the right class: {blamed} of {runs}");
}

/// What a sheet leaves room for is no fault: a reservoir is found once the charge is below its sheet's, and a
/// lamp that draws less goes on blinking until its steps drown in the noise. The severities from which on
/// they are found on each kind; `docs/blame.md` has them.
#[test]
fn faults_that_a_sheet_leaves_room_for_are_found_from_a_severity_on() {
    let find = |name| catalogue().find(|f| f.name == name).expect("a fault");
    for (kind, text) in [("pier-four", PIER), ("quay-four", QUAY), ("jetty-two", JETTY)] {
        let trial = Trial { kind: text, plan: plan(text, ARRIVAL, None), loads: None };
        for (name, most) in [("reservoir-small", 0.6), ("lamp-dead", 1.0)] {
            let found = SEEDS.take(3).map(|seed| trial.smallest_found(find(name), seed));
            let found: Option<Vec<f64>> = found.collect();
            let found = found.unwrap_or_else(|| panic!("{name} is missed on {kind}"));
            println!("{kind} {name}: found from {found:.3?} on");
            assert!(found.iter().all(|&severity| severity <= most), "{kind} {name}: {found:?}");
        }
    }
}
