//! The load network of the simulated bench, as its boards step through it.

use super::deviations::Deviations;
use super::load_models::{WINDING_S, heat, inertia};
use super::ngspice;
use super::trace::Trace;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::script::shipped;
use musterbench::simulated_bench::circuits::clamp::Switches;
use musterbench::simulated_bench::circuits::loads::LoadCircuit;
use musterbench::simulated_bench::loads::LoadModel;
use musterbench::simulated_bench::parts::Parts;
use std::collections::HashMap;

/// How often the bench is looked at, in microseconds. Between its own steps it reads on along their
/// slope, so this does not change how it steps.
const LOOK_US: u64 = 50;

/// What lies on the way, in ohms: source, common, contact, lead; then shunt and switch.
const BEFORE_OHM: f64 = 0.05 + 0.02 + 0.05 + 0.02;
const BEHIND_OHM: f64 = 0.05 + 0.03;
/// What an input of the shunt's amplifier takes, in siemens.
pub const INPUT_S: f64 = 7.5e-6;
/// Voltmeter and amplifier at the clamp, in ohms.
pub const METER_OHM: f64 = 1.0 / (1.0 / 1.2e6 + 2.0 * INPUT_S);

/// What the jig's diode across a load leaks, in amperes.
pub const LEAK_A: f64 = 5e-6;

const SUPPLY_V: f64 = 12.0;

/// A load by its values.
pub fn load(kind: &str, values: &[(&str, f64)]) -> LoadModel {
    LoadModel::of(kind, values).expect("a load of the bench")
}

/// A bench of round values with loads at clamps 1a, 1b and 2a.
pub fn parts(loads: [LoadModel; 3]) -> Parts {
    let sheet = shipped::module_sheet("pier-four").expect("shipped");
    let nothing = [const { LoadModel::OPEN }; 8];
    let mut parts = Parts::draw(&simulated::kind(&sheet), &nothing, SUPPLY_V, 1.into());
    for (at, load) in loads.into_iter().enumerate() {
        parts.loads[at] = load;
    }
    parts.jig.load_v = SUPPLY_V;
    parts.jig.load_source_ohm = 0.05;
    parts.jig.shunt_ohm = 0.05;
    parts.jig.input_s = [INPUT_S; 8];
    parts.jig.switch_ohm = 0.03;
    parts.jig.bypass_ohm = [0.05; 8];
    parts.leads.common_ohm = [0.02; 4];
    parts.leads.clamp_ohm = [0.02; 8];
    for output in &mut parts.module.outputs {
        output.contact_ohm = [0.05; 2];
    }
    parts
}

pub const LOAD: Switches = Switches { load: true, bypass: false, jig_load: false };

/// The current at clamp 1a from the moment when its contact closes.
pub fn switched_on(load: LoadModel, end_s: f64) -> Trace {
    let mut circuit = LoadCircuit::new(&parts([load, LoadModel::OPEN, LoadModel::OPEN]));
    circuit.set_switches(0, LOAD);
    circuit.set_supply(true);
    circuit.set_contact(0, 0, true);
    circuit.refresh();
    let mut trace = Trace::default();
    for look in 0..=(end_s * 1e6) as u64 / LOOK_US {
        trace.push((look * LOOK_US) as f64 * 1e-6, circuit.clamp_a(0));
        circuit.advance(LOOK_US);
    }
    trace
}

/// What the simulator says of the same.
pub fn theirs(netlist: &str, end_s: f64, numbers: &[(&str, f64)]) -> Trace {
    let mut all = vec![
        ("supply_v", SUPPLY_V),
        ("before_ohm", BEFORE_OHM),
        ("meter_ohm", METER_OHM),
        ("behind_ohm", BEHIND_OHM),
        ("leak", LEAK_A),
        ("end_s", end_s),
        ("step_s", end_s / 5e3),
    ];
    all.extend(numbers);
    ngspice::run(netlist, &all)["i(vload)"].clone()
}

pub fn last(trace: &Trace) -> f64 {
    *trace.values.last().expect("a point")
}

#[test]
#[ignore = "needs ngspice"]
fn resistors_and_diodes() {
    let mut found = Deviations::of("bench: resistor");
    for ohm in [1.8, 22.0, 4700.0] {
        let ours = switched_on(LoadModel::resistor(ohm), 1e-3);
        found.steady(last(&ours), last(&theirs("resistor.cir", 1e-3, &[("ohm", ohm)])));
    }
    found.tell();
    let mut found = Deviations::of("bench: light-emitting diode");
    // The bench has an emission coefficient of two for each junction of up to 3.6 V, and 20 °C.
    for (forward_v, at_a, series_ohm, junctions) in [
        (2.0, 0.01, 1e3, 1.0),
        (3.1, 0.01, 910.0, 1.0),
        (9.6, 0.02, 120.0, 3.0),
        (11.5, 0.02, 100.0, 4.0),
    ] {
        let ours = switched_on(
            load("led", &[("forward", forward_v), ("at_current", at_a), ("series", series_ohm)]),
            1e-3,
        );
        let numbers = [
            ("forward_v", forward_v),
            ("at_a", at_a),
            ("series_ohm", series_ohm),
            ("emission", 2.0 * junctions),
            ("kelvin", 293.15),
        ];
        found.steady(last(&ours), last(&theirs("led.cir", 1e-3, &numbers)));
    }
    found.tell();
}

#[test]
#[ignore = "needs ngspice"]
fn coils() {
    let mut found = Deviations::of("bench: coil");
    for (ohm, henry) in [(360.0, 1.2), (48.0, 0.09), (90.0, 0.3)] {
        let end = 15.0 * henry / ohm;
        let ours = switched_on(
            load("coil", &[("resistance", ohm), ("inductance", henry), ("diode", 1.0)]),
            end,
        );
        let theirs = theirs("coil.cir", end, &[("ohm", ohm), ("henry", henry)]);
        found.steady(last(&ours), last(&theirs));
        found.change(&ours, &theirs, 0.0, end, 0.0);
    }
    found.tell();
}

#[test]
#[ignore = "needs ngspice"]
fn lamps() {
    let mut found = Deviations::of("bench: filament lamp");
    for (rated_v, rated_a, ratio, warm_up_s) in
        [(12.0, 0.15, 8.0, 4e-3), (16.0, 0.06, 12.0, 10e-3), (12.0, 0.8, 6.0, 40e-3)]
    {
        let end = 400.0 * warm_up_s;
        let model = load(
            "lamp",
            &[
                ("rated_voltage", rated_v),
                ("rated_current", rated_a),
                ("inrush_ratio", ratio),
                ("warm_up", warm_up_s),
            ],
        );
        let ours = switched_on(model, end);
        let numbers = [
            ("rated_v", rated_v),
            ("rated_a", rated_a),
            ("inrush_ratio", ratio),
            ("heat", heat(rated_v, rated_a, ratio, warm_up_s)),
        ];
        let theirs = theirs("lamp.cir", end, &numbers);
        found.steady(last(&ours), last(&theirs));
        found.change(&ours, &theirs, 0.0, end, theirs.values[0]);
    }
    found.tell();
}

#[test]
#[ignore = "needs ngspice"]
fn motors() {
    let mut found = Deviations::of("bench: motor");
    for (start_a, run_a, at_v, run_up_s) in [(0.6, 0.15, 12.0, 25e-3), (0.35, 0.05, 10.0, 80e-3)] {
        let end = 20.0 * run_up_s;
        let ours = switched_on(
            load(
                "motor",
                &[
                    ("start_current", start_a),
                    ("run_current", run_a),
                    ("at_voltage", at_v),
                    ("run_up", run_up_s),
                ],
            ),
            end,
        );
        let numbers = [
            ("start_a", start_a),
            ("run_a", run_a),
            ("at_v", at_v),
            ("inertia", inertia(start_a, run_a, at_v, run_up_s, 0.0)),
            ("dry", 0.0),
        ];
        let theirs = theirs("motor.cir", end, &numbers).from(WINDING_S);
        found.steady(last(&ours), last(&theirs));
        found.change(&ours, &theirs, 0.0, end, theirs.values[0]);
    }
    found.tell();
}

#[test]
#[ignore = "needs ngspice"]
fn several_in_parallel() {
    let mut found = Deviations::of("bench: lamp, diode and coil in parallel");
    let (rated_v, rated_a, inrush_ratio, warm_up_s) = (12.0, 0.06, 7.0, 3e-3);
    let ours = switched_on(
        LoadModel::parallel([
            load(
                "lamp",
                &[
                    ("rated_voltage", rated_v),
                    ("rated_current", rated_a),
                    ("inrush_ratio", inrush_ratio),
                    ("warm_up", warm_up_s),
                ],
            ),
            load("led", &[("forward", 2.0), ("at_current", 0.01), ("series", 1e3)]),
            load("coil", &[("resistance", 360.0), ("inductance", 1.2), ("diode", 1.0)]),
        ]),
        1.2,
    );
    let heat = heat(rated_v, rated_a, inrush_ratio, warm_up_s);
    let theirs = theirs("parallel.cir", 1.2, &[("heat", heat), ("kelvin", 293.15)]);
    found.steady(last(&ours), last(&theirs));
    found.change(&ours, &theirs, 0.0, 1.2, theirs.values[0]);
    found.tell();
}

/// What the bench shows of a change-over.
#[derive(Default)]
struct Seen {
    lamp_a: Trace,
    coil_a: Trace,
    other_a: Trace,
    total_a: Trace,
    bus_v: Trace,
    clamp_b_v: Trace,
}

/// What the common return of the loads carries.
fn total(theirs: &HashMap<String, Trace>) -> Trace {
    let [a, b, other] = ["i(vload_a)", "i(vload_b)", "i(vload_2)"].map(|name| &theirs[name]);
    let sum = |at: usize| a.values[at] + b.values[at] + other.values[at];
    Trace { times: a.times.clone(), values: (0..a.times.len()).map(sum).collect() }
}

/// A lamp at 1a lets go, a coil at 1b takes over, a bypass leads past its contact, the contact
/// opens again; a resistor at 2a pulls on the same source. Then the bypass opens too, and the coil
/// runs down through its diode.
#[test]
#[ignore = "needs ngspice"]
fn a_change_over_with_its_neighbours() {
    let (rated_v, rated_a, inrush_ratio, warm_up_s) = (12.0, 0.15, 8.0, 4e-3);
    let (ohm, henry, other_ohm) = (99.0, 0.3, 22.0);
    let [open, close, bypass, again, gone, end] = [1.0, 1.003, 1.1, 1.2, 1.3, 1.4];
    let mut circuit = LoadCircuit::new(&parts([
        load(
            "lamp",
            &[
                ("rated_voltage", rated_v),
                ("rated_current", rated_a),
                ("inrush_ratio", inrush_ratio),
                ("warm_up", warm_up_s),
            ],
        ),
        load("coil", &[("resistance", ohm), ("inductance", henry), ("diode", 1.0)]),
        LoadModel::resistor(other_ohm),
    ]));
    (0..3).for_each(|clamp| circuit.set_switches(clamp, LOAD));
    circuit.set_supply(true);
    circuit.set_contact(0, 0, true);
    circuit.set_contact(1, 0, true);
    circuit.refresh();
    let mut ours = Seen::default();
    let us = |s: f64| (s * 1e6).round() as u64;
    let mut look = |circuit: &LoadCircuit, now_us: u64| {
        let t = now_us as f64 * 1e-6;
        ours.lamp_a.push(t, circuit.clamp_a(0));
        ours.coil_a.push(t, circuit.clamp_a(1));
        ours.other_a.push(t, circuit.clamp_a(2));
        ours.total_a.push(t, circuit.total_a());
        ours.bus_v.push(t, circuit.bus_v());
        ours.clamp_b_v.push(t, circuit.clamp_v(1));
    };
    let mut now_us = 0;
    while now_us <= us(end) {
        look(&circuit, now_us);
        let switches = match now_us {
            t if t == us(open) => Some((0, false, false)),
            t if t == us(close) => Some((1, true, false)),
            t if t == us(bypass) => Some((1, true, true)),
            t if t == us(again) => Some((1, false, true)),
            t if t == us(gone) => Some((1, false, false)),
            _ => None,
        };
        if let Some((position, closed, bypass)) = switches {
            circuit.set_contact(0, position, closed);
            circuit.set_switches(position, Switches { bypass, ..LOAD });
            circuit.refresh();
            look(&circuit, now_us);
        }
        circuit.advance(LOOK_US);
        now_us += LOOK_US;
    }

    let theirs = ngspice::run(
        "change_over.cir",
        &[
            ("supply_v", SUPPLY_V),
            ("source_ohm", 0.05),
            ("common_ohm", 0.02),
            ("contact_ohm", 0.05),
            ("lead_ohm", 0.02),
            ("shunt_ohm", 0.05),
            ("switch_ohm", 0.03),
            ("bypass_ohm", 0.05),
            ("meter_ohm", METER_OHM),
            ("leak", LEAK_A),
            ("rated_v", rated_v),
            ("rated_a", rated_a),
            ("inrush_ratio", inrush_ratio),
            ("heat", heat(rated_v, rated_a, inrush_ratio, warm_up_s)),
            ("ohm", ohm),
            ("henry", henry),
            ("other_ohm", other_ohm),
            ("open_s", open),
            ("close_s", close),
            ("bypass_s", bypass),
            ("again_s", again),
            ("gone_s", gone),
            ("end_s", end),
        ],
    );
    let mut found = Deviations::of("bench: change-over, bypass, shared source");
    let just_before = 1e-4;
    for t in [open, bypass, again, gone].map(|t| t - just_before) {
        found.steady(ours.other_a.at(t), theirs["i(vload_2)"].at(t));
        found.steady(ours.total_a.at(t), total(&theirs).at(t));
        found.steady(ours.bus_v.at(t), theirs["v(bus)"].at(t));
        if t < open {
            found.steady(ours.lamp_a.at(t), theirs["i(vload_a)"].at(t));
        } else {
            found.steady(ours.coil_a.at(t), theirs["i(vload_b)"].at(t));
            found.steady(ours.clamp_b_v.at(t), theirs["v(clamp_b)"].at(t));
        }
    }
    let lamp = &theirs["i(vload_a)"];
    found.change(&ours.lamp_a, lamp, 0.0, open - just_before, lamp.values[0]);
    let coil = &theirs["i(vload_b)"];
    found.change(&ours.coil_a, coil, close, bypass - just_before, 0.0);
    let total = total(&theirs);
    found.change(&ours.total_a, &total, close, bypass - just_before, total.at(close - 1e-4));
    // The jig's diode lets go of the coil: until then its drop stands at the clamp, below that at which
    // the coil's own would conduct.
    let after = gone + 1e-3;
    let (ours, theirs) = (ours.clamp_b_v.from(after), theirs["v(clamp_b)"].from(after));
    found.instant(&ours, &theirs, gone, -0.15);
    found.tell();
}
