//! A contact of the simulated bench that bounces, a board and a strip behind it, and the filters before the
//! jig's converters.

use super::bench_loads::{INPUT_S, LEAK_A, LOAD, last, load, parts, switched_on, theirs};
use super::deviations::Deviations;
use super::ngspice;
use super::trace::Trace;
use musterbench::simulated_bench::circuits::loads::LoadCircuit;
use musterbench::simulated_bench::loads::LoadModel;
use std::collections::HashMap;

#[test]
#[ignore = "needs ngspice"]
fn boards_fill_their_capacitor() {
    let mut found = Deviations::of("bench: electronic board");
    for (farad, series_ohm, draws_a) in [(47e-6, 22.0, 8e-3), (470e-6, 4.7, 30e-3)] {
        let end = 15.0 * farad * series_ohm;
        let ours = switched_on(
            load(
                "electronics",
                &[("capacitance", farad), ("series", series_ohm), ("current", draws_a)],
            ),
            end,
        );
        let theirs = theirs(
            "electronics.cir",
            end,
            &[("farad", farad), ("series_ohm", series_ohm), ("draws_a", draws_a)],
        );
        found.steady(last(&ours), last(&theirs));
        found.change(&ours, &theirs, 0.0, end, theirs.values[1]);
    }
    found.tell();
}

#[test]
#[ignore = "needs ngspice"]
fn strips_regulate_their_current() {
    let mut found = Deviations::of("bench: constant-current strip");
    for (ampere, dark_v, full_v) in [(60e-3, 8.4, 10.0), (60e-3, 10.5, 13.0), (300e-3, 9.0, 11.9)] {
        let ours = switched_on(
            load("strip", &[("current", ampere), ("forward", dark_v), ("full_from", full_v)]),
            1e-3,
        );
        let numbers = [("ampere", ampere), ("dark_v", dark_v), ("full_v", full_v)];
        found.steady(last(&ours), last(&theirs("strip.cir", 1e-3, &numbers)));
    }
    found.tell();
}

/// A touch of 30 µs, a gap, the closing, and an opening whose current the jig's diode takes over: what the
/// contact does to the clamp, and what of it is left behind the filters.
#[test]
#[ignore = "needs ngspice"]
fn a_contact_bounces_onto_a_coil() {
    let (ohm, henry) = (100.0, 0.3);
    let [touch, part, close, open, end] = [100, 130, 700, 20_000, 24_000u64];
    let model = load("coil", &[("resistance", ohm), ("inductance", henry), ("diode", 0.0)]);
    let changes = [(touch, true), (part, false), (close, true), (open, false)];
    let [ampere, seen_v, seen_a] = behind_a_contact(model, &changes, end, |circuit| {
        [circuit.clamp_a(0), circuit.seen_clamp_v(0), circuit.seen_clamp_a(0)]
    });
    let s = |us: u64| us as f64 * 1e-6;
    let theirs = in_a_simulator(
        "bouncing_coil.cir",
        &[
            ("ohm", ohm),
            ("henry", henry),
            ("touch_s", s(touch)),
            ("part_s", s(part)),
            ("close_s", s(close)),
            ("open_s", s(open)),
            ("end_s", s(end)),
        ],
    );
    let mut found = Deviations::of("bench: coil behind a contact that bounces, filters");
    found.steady(ampere.at(s(open - 1)), theirs["i(vload)"].at(s(open - 1)));
    found.change(&ampere, &theirs["i(vload)"], s(close), s(open - 1), 0.0);
    // Behind the filter: what a touch of two time constants leaves, right after it and 60 us later.
    for after in [1, 10, 30, 60] {
        let at = s(part + after);
        let (ours, theirs) = (seen_v.at(at), theirs["v(seen_v)"].at(at));
        assert!((ours - theirs).abs() < 5e-3 * 12.0, "{after} us: {ours} is not {theirs}");
    }
    // Its rise on the closing, and its fall on the opening.
    for level in [1.2, 6.0, 10.8] {
        found.instant(&seen_v, &theirs["v(seen_v)"], s(close) - 100e-6, level);
        found.instant(
            &seen_v.from(s(open)),
            &theirs["v(seen_v)"].from(s(open)),
            s(open) - 100e-6,
            level,
        );
    }
    for level in [0.09, 0.05, 0.01] {
        found.instant(
            &seen_a.from(s(open)),
            &theirs["v(seen_a)"].from(s(open)),
            s(open) - 100e-6,
            level,
        );
    }
    found.tell();
}

/// An opening whose clamp is held up by its own capacitances, as they are without much of a load.
#[test]
#[ignore = "needs ngspice"]
fn a_clamp_with_next_to_no_load_falls_slowly() {
    let (open, end) = (1_000, 2_000u64);
    let model = load("led", &[("forward", 2.0), ("at_current", 1e-3), ("series", 10e3)]);
    let changes = [(10, true), (open, false)];
    let [clamp_v, seen_v, seen_a] = behind_a_contact(model, &changes, end, |circuit| {
        [circuit.clamp_v(0), circuit.seen_clamp_v(0), circuit.seen_clamp_a(0)]
    });
    let s = |us: u64| us as f64 * 1e-6;
    let theirs = in_a_simulator("falling_clamp.cir", &[("open_s", s(open)), ("end_s", s(end))]);
    let mut found = Deviations::of("bench: clamp held up by its capacitances");
    // The load's current, and what the amplifier takes with it.
    found.steady(seen_a.at(s(open - 1)), theirs["v(seen_a)"].at(s(open - 1)));
    for (ours, theirs, levels) in [
        (&clamp_v, &theirs["v(clamp)"], [10.8, 6.0, 3.0, 1.5, 0.5]),
        (&seen_v, &theirs["v(seen_v)"], [10.8, 6.0, 3.0, 1.5, 0.5]),
        (&seen_a, &theirs["v(seen_a)"], [0.9e-3, 0.7e-3, 0.5e-3, 0.3e-3, 0.1e-3]),
    ] {
        for level in levels {
            found.instant(&ours.from(s(open)), &theirs.from(s(open)), s(open) - 100e-6, level);
        }
    }
    found.tell();
}

/// The bench with a load behind a contact that changes at these times: three of its courses, microsecond by
/// microsecond.
fn behind_a_contact(
    model: LoadModel,
    changes: &[(u64, bool)],
    end_us: u64,
    seen: impl Fn(&LoadCircuit) -> [f64; 3],
) -> [Trace; 3] {
    let mut circuit = LoadCircuit::new(&parts([model, LoadModel::OPEN, LoadModel::OPEN]));
    circuit.set_switches(0, LOAD);
    circuit.set_supply(true);
    circuit.refresh();
    let mut traces = [const { Trace { times: vec![], values: vec![] } }; 3];
    for now_us in 0..=end_us {
        if let Some((_, closed)) = changes.iter().find(|(at_us, _)| *at_us == now_us) {
            circuit.set_contact(0, 0, *closed);
        }
        circuit.refresh();
        for (trace, value) in traces.iter_mut().zip(seen(&circuit)) {
            trace.push(now_us as f64 * 1e-6, value);
        }
        circuit.advance(1);
    }
    traces
}

/// The same in the circuit simulator, with the values of that bench and these.
fn in_a_simulator(netlist: &str, own: &[(&str, f64)]) -> HashMap<String, Trace> {
    let bench = [
        ("supply_v", 12.0),
        ("before_ohm", 0.05 + 0.02 + 0.02),
        ("contact_ohm", 0.05),
        ("input_ohm", 1.0 / INPUT_S),
        ("shunt_ohm", 0.05),
        ("switch_ohm", 0.03),
        ("leak", LEAK_A),
    ];
    ngspice::run(netlist, &[&bench, own].concat())
}
