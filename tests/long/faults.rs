//! From which severity on a fault is found: tables for `docs/blame.md`.

use crate::kit::bench::{ARRIVAL, JETTY, PIER, QUAY, plan};
use crate::kit::faults::{Trial, of_one_module};
use musterbench::simulated_bench::faults::catalogue;

#[test]
#[ignore = "a minute or two; `.ci/run` asks for it"]
fn from_which_severity_on_each_fault_is_found() {
    for fault in of_one_module() {
        let smallest = Trial::of(fault).smallest_found(fault, 1).expect("it is found as it comes");
        println!("{:24} {:8} {smallest:.4} {}", fault.name, fault.class, fault.unit);
        assert!((fault.minimum..=fault.maximum).contains(&smallest), "{}", fault.name);
    }
}

/// What a sheet leaves room for is no fault.
#[test]
#[ignore = "a minute or two; `.ci/run` asks for it"]
fn faults_that_a_sheet_leaves_room_for_are_found_from_a_severity_on() {
    let find = |name| catalogue().find(|f| f.name == name).expect("a fault");
    for (kind, text) in [("pier-four", PIER), ("quay-four", QUAY), ("jetty-two", JETTY)] {
        let trial = Trial { kind: text, plan: plan(text, ARRIVAL, None), loads: None };
        for (name, most) in [("reservoir-small", 0.6), ("lamp-dead", 1.0)] {
            let found = (1..=3).map(|seed| trial.smallest_found(find(name), seed));
            let found: Option<Vec<f64>> = found.collect();
            let found = found.unwrap_or_else(|| panic!("{name} is missed on {kind}"));
            println!("{kind} {name}: found from {found:.3?} on");
            assert!(found.iter().all(|&severity| severity <= most), "{kind} {name}: {found:?}");
        }
    }
}
