//! A jig in the same process takes orders as values. What a run reads, when, and how it ends is the same
//! to the last bit as when all of it goes as text.

use crate::kit::bench::{
    ARRIVAL, BASIN, CRANE, IN_PLACE, JETTY, PIER, QUAY, THOROUGH, plan, run_over, sheet,
};
use musterbench::link::simulated::SimulatedTransport;
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::source::Source;
use musterbench::simulated_bench::faults::{Fault, catalogue};

/// Runs a script both ways with a fault or none; how many readings there were.
fn check(
    kind: &str,
    script: &str,
    loads: Option<&str>,
    fault: Option<&'static Fault>,
    seed: u64,
) -> usize {
    let loads = loads.map(|text| LoadSheet::parse(&Source::new("loads.toml", text)).unwrap());
    let plan = plan(kind, script, loads.as_ref());
    let faults: Vec<_> = fault.map(|fault| (fault, fault.default)).into_iter().collect();
    let bench = || {
        let setup = simulated::setup(&sheet(kind), loads.as_ref(), faults.clone(), seed);
        SimulatedTransport::new(setup)
    };
    let [values, text] = [run_over(&plan, bench()), run_over(&plan, bench().as_text())];
    let script = script.lines().next();
    let what = format!("{script:?} of kind {:?}, {fault:?}, seed {seed}", sheet(kind).title);
    assert_eq!(values.readings, text.readings, "{what}");
    assert_eq!(format!("{:?}", values.outcome), format!("{:?}", text.outcome), "{what}");
    assert_eq!(values.seconds.to_bits(), text.seconds.to_bits(), "{what}");
    assert_eq!(values.traffic.exchanges, text.traffic.exchanges, "{what}");
    assert!(values.traffic.bytes_sent < text.traffic.bytes_sent, "{what}");
    values.readings.len()
}

#[test]
fn every_kind_and_script() {
    for (seed, kind) in (31..).zip([PIER, QUAY, JETTY]) {
        assert!(check(kind, ARRIVAL, None, None, seed) > 50);
        assert!(check(kind, THOROUGH, None, None, seed) > 50);
        for loads in [BASIN, CRANE] {
            assert!(check(kind, IN_PLACE, Some(loads), None, seed) > 20);
        }
    }
}

/// Also where supplies trip, nothing answers, or a search goes on.
#[test]
fn every_fault() {
    let mut readings = 0;
    for (seed, fault) in (50..).zip(catalogue()) {
        let kind = [QUAY, JETTY, PIER][seed as usize % 3];
        readings += check(kind, ARRIVAL, None, Some(fault), seed);
    }
    assert!(readings > 1_000, "{readings}");
}
