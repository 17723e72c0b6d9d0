//! Every fault of the catalogue is found, and blamed on the right class.
//!
//! The arrival script looks for all but two kinds: the faults of a real load show in place only, on the
//! real loads, and a stuck switch at several addresses. Run with `-- --nocapture` for the table; from which
//! severity on a fault is found tells `tests/long/faults.rs`.

use crate::kit::bench::{ARRIVAL, JETTY, PIER, QUAY, plan};
use crate::kit::faults::{Trial, of_one_module};
use musterbench::judge::reading::Verdict;
use musterbench::simulated_bench::faults::catalogue;

/// Benches, modules and places of the fault drawn anew.
const SEEDS: std::ops::RangeInclusive<u64> = 1..=7;

/// Seen only as "no change": an operator must look (a lamp that does not blink may be two lamps in
/// turn), so the verdict is `indeterminate`, not `fail`.
const ASKS_THE_OPERATOR: [&str; 1] = ["lamp-dead"];

#[test]
fn every_fault_is_found_and_blamed_on_its_class() {
    let mut runs = 0;
    let mut blamed = 0;
    let mut missed = Vec::new();
    println!("{:24} {:8} found blamed", "fault", "class");
    for fault in of_one_module() {
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
        println!("{:24} {class:8} {found:2}/{count} {right:3}/{count}", fault.name);
        runs += count;
        blamed += right;
    }
    println!("blamed on the right class: {blamed} of {runs}");
    assert!(missed.is_empty(), "not found:\n{}", missed.join("\n"));
    assert!(blamed * 10 >= runs * 9, "blamed on the right class: {blamed} of {runs}");
}

/// What a sheet leaves room for is no fault: a reservoir is found once the charge is below its sheet's, and a
/// lamp that draws less goes on blinking until its steps drown in the noise. At these severities they are
/// found on each kind; `docs/blame.md` has those from which on.
#[test]
fn faults_that_a_sheet_leaves_room_for_are_found_where_they_leave_it() {
    let find = |name| catalogue().find(|f| f.name == name).expect("a fault");
    for (kind, text) in [("pier-four", PIER), ("quay-four", QUAY), ("jetty-two", JETTY)] {
        let trial = Trial { kind: text, plan: plan(text, ARRIVAL, None), loads: None };
        for (name, severity) in [("reservoir-small", 0.6), ("lamp-dead", 1.0)] {
            for seed in SEEDS.take(3) {
                assert!(trial.finds(find(name), severity, seed), "{name} is missed on {kind}");
            }
        }
    }
}
