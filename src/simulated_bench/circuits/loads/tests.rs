//! The load network against circuit theory as any textbook has it (Hayt, Kemmerly: Engineering
//! Circuit Analysis).

use super::*;
use crate::simulated_bench::circuits::clamp::{LIFT_V, METER_S};
use crate::simulated_bench::circuits::clamp_diode::SATURATION_A;
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;

/// A load by its values.
fn load(kind: &str, values: &[(&str, f64)]) -> LoadModel {
    LoadModel::of(kind, values).expect("a load of the bench")
}

/// Round values, so that the closed forms are easy to write.
fn parts(load: LoadModel) -> Parts {
    let mut parts = Parts::draw(&Kind::example(), &[const { LoadModel::OPEN }; 8], 12.0, 1.into());
    parts.loads[0] = load;
    parts.jig.load_v = 12.0;
    parts.jig.load_source_ohm = 0.5;
    parts.jig.shunt_ohm = 0.05;
    // The amplifiers take nothing, so that the closed forms are short; see the tests of what they take.
    parts.jig.input_s = [0.0; 8];
    parts.jig.switch_ohm = 0.05;
    parts.jig.bypass_ohm = [0.5; 8];
    parts.jig.jig_load_ohm = [22.0; 8];
    parts.leads.common_ohm = [0.1; 4];
    parts.leads.clamp_ohm = [0.1; 8];
    for output in &mut parts.module.outputs {
        output.contact_ohm = [0.2; 2];
    }
    parts
}

const LOAD: Switches = Switches { load: true, bypass: false, jig_load: false };
const JIG: Switches = Switches { load: false, bypass: false, jig_load: true };

fn on(load: LoadModel) -> LoadCircuit {
    let mut circuit = LoadCircuit::new(&parts(load));
    circuit.set_switches(0, LOAD);
    circuit.set_contact(0, 0, true);
    circuit.set_supply(true);
    circuit.refresh();
    circuit
}

fn close(a: f64, b: f64, relative: f64) {
    assert!((a - b).abs() <= relative * b.abs(), "{a} is not {b}");
}

/// A series circuit and its voltage divider.
#[test]
fn resistor_in_series() {
    let circuit = on(LoadModel::resistor(23.0));
    // Source 0.5, common 0.1, contact 0.2, lead 0.1, shunt 0.05, switch 0.05.
    close(circuit.clamp_a(0), 12.0 / 24.0, 1e-5);
    close(circuit.total_a(), 0.5, 1e-4);
    close(circuit.bus_v(), 11.75, 1e-5);
    close(circuit.clamp_v(0), 0.5 * 23.1, 1e-5);
}

/// Two branches on one source: Kirchhoff's laws.
#[test]
fn two_outputs_share_the_source() {
    let mut circuit = LoadCircuit::new(&parts(LoadModel::OPEN));
    for k in 0..2 {
        circuit.set_switches(2 * k, JIG);
        circuit.set_contact(k, 0, true);
    }
    circuit.set_supply(true);
    circuit.refresh();
    // The voltmeter lies in parallel with each load, and its foot not on the loads' return.
    let way_ohm = 2.0 * 0.5 + 0.1 + 0.2 + 0.1;
    let volt = (12.0 + way_ohm * METER_S * LIFT_V) / (1.0 + way_ohm * (1.0 / 22.05 + METER_S));
    close(circuit.total_a(), 2.0 * volt / 22.05, 1e-9);
    for clamp in [0, 2] {
        close(circuit.clamp_v(clamp), volt, 1e-9);
        close(circuit.clamp_a(clamp), volt / 22.05, 1e-9);
    }
}

/// An ideal capacitor through a resistance: `U e^(−t/RC)`. Nothing hangs on the clamp but its voltmeter and
/// the amplifier, 7.5 µS at each input.
#[test]
fn an_unloaded_clamp_falls_slowly() {
    let mut parts = parts(LoadModel::OPEN);
    parts.jig.input_s = [7.5e-6; 8];
    let mut circuit = LoadCircuit::new(&parts);
    circuit.set_contact(0, 0, true);
    circuit.set_supply(true);
    circuit.advance(1_000);
    // It is charged at once, and what flows past the load is seen, and is none of the load's.
    close(circuit.clamp_v(0), 12.0, 1e-4);
    assert_eq!(circuit.clamp_a(0), 0.0);
    assert_eq!(circuit.total_a(), 0.0);
    close(circuit.seen_clamp_a(0), 90e-6, 1e-4);
    circuit.set_contact(0, 0, false);
    circuit.refresh();
    // 150 pF before the shunt, 250 pF behind it.
    let tau_us = 400e-12 / (2.0 * 7.5e-6 + METER_S) * 1e6;
    for t_us in 1..=80_u32 {
        circuit.advance(1);
        let want = 12.0 * (-f64::from(t_us) / tau_us).exp();
        assert!((circuit.clamp_v(0) - want).abs() < 0.06, "{t_us}: {}", circuit.clamp_v(0));
    }
    circuit.advance(1_000);
    assert!(circuit.is_settled() && circuit.clamp_v(0).abs() < 0.03, "{}", circuit.clamp_v(0));
}

/// What charges the capacitances behind the shunt goes through it: their charge, Q = CU.
#[test]
fn a_closing_contact_charges_what_lies_behind_the_shunt() {
    let mut circuit = LoadCircuit::new(&parts(LoadModel::OPEN));
    circuit.set_supply(true);
    circuit.set_contact(0, 0, true);
    circuit.refresh();
    let mut charge = 0.0;
    for _ in 0..200 {
        charge += circuit.seen_clamp_a(0) * 1e-6;
        circuit.advance(1);
    }
    // Sampled every 1/16 of the filter's time constant, from its first point on.
    close(charge, 250e-12 * 12.0, 0.04);
}

/// The bypass lies in parallel with the common lead and the contact, before the clamp lead.
#[test]
fn bypass_in_parallel_with_the_contact() {
    let mut circuit = LoadCircuit::new(&parts(LoadModel::OPEN));
    circuit.set_switches(0, Switches { bypass: true, ..JIG });
    circuit.set_contact(0, 0, true);
    circuit.set_supply(true);
    circuit.refresh();
    let way_ohm = 0.3 * 0.5 / (0.3 + 0.5);
    close(circuit.clamp_a(0), 12.0 / (0.5 + way_ohm + 0.1 + 22.05), 1e-5);
    circuit.set_contact(0, 0, false);
    circuit.refresh();
    close(circuit.clamp_a(0), 12.0 / (0.5 + 0.5 + 0.1 + 22.05), 1e-5);
}

/// Current through an inductance and a resistance in series: `i = U/R (1 − e^(−tR/L))`. Between
/// steps of 1/30 time constant the current goes on along the last chord: off by `h²/τ²` at most.
#[test]
fn coil_rises_with_its_time_constant() {
    let mut circuit =
        on(load("coil", &[("resistance", 99.0), ("inductance", 1.0), ("diode", 1.0)]));
    for ms in 1..=60 {
        circuit.advance(1_000);
        let t = f64::from(ms) * 1e-3;
        let want = 12.0 / 100.0 * (1.0 - (-t * 100.0_f64).exp());
        assert!((circuit.clamp_a(0) - want).abs() < 1.0 / 900.0 * 0.12, "{ms} ms");
    }
}

/// Switched off, the coil's current runs down through its diode; the clamp sees none of it.
#[test]
fn coil_lets_go_without_a_spark() {
    let mut circuit =
        on(load("coil", &[("resistance", 99.0), ("inductance", 0.1), ("diode", 1.0)]));
    circuit.advance(50_000);
    circuit.set_contact(0, 0, false);
    circuit.refresh();
    for _ in 0..200 {
        assert!(circuit.clamp_a(0).abs() < 1e-3);
        assert!(circuit.clamp_v(0) > -1.0 && circuit.clamp_v(0) < 0.1, "{}", circuit.clamp_v(0));
        circuit.advance(100);
    }
    assert!(circuit.settled);
    // On again it starts from nothing.
    circuit.set_contact(0, 0, true);
    circuit.refresh();
    assert!(circuit.clamp_a(0).abs() < 1e-4);
}

/// The whole loop of a diode, by bisection of Kirchhoff's voltage law.
#[test]
fn diode_behind_the_whole_path() {
    let circuit = on(load("led", &[("forward", 2.0), ("at_current", 0.01), ("series", 999.0)]));
    let (mut low, mut high) = (0.0, 0.012);
    for _ in 0..100 {
        let i: f64 = 0.5 * (low + high);
        let diode_v = 2.0 + 2.0 * 0.025_26 * (i / 0.01).ln();
        if 1_000.0 * i + diode_v > 12.0 { high = i } else { low = i }
    }
    close(circuit.clamp_a(0), low + SATURATION_A, 1e-4);
}

/// A coil without a diode of its own runs down through that of the jig: past the shunt, with the diode's
/// drop across it, i = (I + Vd/R) e^(−t/τ) − Vd/R.
#[test]
fn a_bare_coil_runs_down_through_the_jigs_diode() {
    let (ohm, henry) = (99.0, 1.0);
    let bare = [("resistance", ohm), ("inductance", henry), ("diode", 0.0)];
    let mut circuit = on(load("coil", &bare));
    circuit.advance(200_000);
    close(circuit.clamp_a(0), 0.12, 1e-3);
    circuit.set_contact(0, 0, false);
    circuit.refresh();
    // The clamp's capacitances are empty within a tenth of a microsecond.
    circuit.advance(3);
    assert!(circuit.clamp_a(0).abs() < 1e-6, "{}", circuit.clamp_a(0));
    let drop_v = -circuit.clamp_v(0);
    assert!((0.2..0.4).contains(&drop_v), "{drop_v}");
    // Gone when (I + Vd/R) e^(−t/τ) = Vd/R, with a drop that falls with the current itself.
    let gone_s = |drop_v: f64| henry / ohm * (1.0 + 0.12 * ohm / drop_v).ln();
    circuit.advance((gone_s(drop_v) * 0.9e6) as u64);
    assert!(circuit.clamp_v(0) < -0.05, "{}", circuit.clamp_v(0));
    circuit.advance((gone_s(0.02) * 1e6) as u64);
    assert!(circuit.clamp_v(0).abs() < 0.05, "{}", circuit.clamp_v(0));
}

/// Loads in parallel take the sum of what they take alone.
#[test]
fn parallel_is_the_sum() {
    let resistor = LoadModel::resistor(220.0);
    let led = load("led", &[("forward", 2.0), ("at_current", 0.01), ("series", 1_000.0)]);
    let alone = on(resistor.clone()).clamp_a(0) + on(led.clone()).clamp_a(0);
    let both = on(LoadModel::parallel([resistor, led])).clamp_a(0);
    close(both, alone, 0.002);
}

/// A lamp: cold inrush at first, the rated current when hot, and after `warm_up_s` half-way.
#[test]
fn lamp_warms_up() {
    let lamp = load(
        "lamp",
        &[
            ("rated_voltage", 12.0),
            ("rated_current", 0.05),
            ("inrush_ratio", 8.0),
            ("warm_up", 0.02),
        ],
    );
    let mut circuit = on(lamp);
    close(circuit.clamp_a(0), 0.4, 0.04);
    circuit.advance(20_000);
    close(circuit.clamp_a(0), 0.225, 0.08);
    circuit.advance(2_000_000);
    close(circuit.clamp_a(0), 0.05, 0.005);
    // A short interruption leaves it warm.
    circuit.set_contact(0, 0, false);
    circuit.refresh();
    circuit.advance(3_000);
    circuit.set_contact(0, 0, true);
    circuit.refresh();
    assert!(circuit.clamp_a(0) < 0.1, "{}", circuit.clamp_a(0));
}

#[test]
fn motor_starts_and_runs() {
    let mut circuit = on(load(
        "motor",
        &[("start_current", 0.6), ("run_current", 0.15), ("at_voltage", 12.0), ("run_up", 0.03)],
    ));
    close(circuit.clamp_a(0), 0.6, 0.06);
    circuit.advance(1_000_000);
    close(circuit.clamp_a(0), 0.15, 0.02);
}

#[test]
fn a_short_trips_the_cut_off_in_time() {
    let mut circuit = on(LoadModel::resistor(0.1));
    let gone_us = circuit.advance(1_000);
    assert!(circuit.is_tripped() && gone_us <= 50, "{gone_us}");
    assert_eq!(circuit.total_a(), 0.0);
    circuit.set_supply(true);
    circuit.refresh();
    // But for what comes from the foot of its voltmeter: 0.256 V behind 1.2 MΩ.
    close(circuit.clamp_a(0), 0.256 / 1.2e6, 1e-3);
}

/// How far a run is cut into steps does not matter.
#[test]
fn step_length_does_not_matter() {
    let loads = LoadModel::parallel([
        load("coil", &[("resistance", 100.0), ("inductance", 0.3), ("diode", 1.0)]),
        load(
            "lamp",
            &[
                ("rated_voltage", 12.0),
                ("rated_current", 0.05),
                ("inrush_ratio", 8.0),
                ("warm_up", 0.02),
            ],
        ),
    ]);
    let run = |span_us: usize| {
        let mut circuit = on(loads.clone());
        for _ in (0..20_000).step_by(span_us) {
            circuit.advance(span_us as u64);
        }
        circuit.clamp_a(0)
    };
    close(run(20_000), run(20), 0.01);
}

/// Whatever is switched on and off, and in whatever order, the circuit comes to rest, so that a bench that
/// waits need not step.
#[test]
fn every_load_comes_to_rest() {
    type Act = (&'static str, fn(&mut LoadCircuit));
    let loads = [
        load("coil", &[("resistance", 50.0), ("inductance", 5e-3), ("diode", 0.0)]),
        load("coil", &[("resistance", 50.0), ("inductance", 5e-3), ("diode", 1.0)]),
        load("coil", &[("resistance", 80.0), ("inductance", 4.0), ("diode", 0.0)]),
        load("led", &[("forward", 2.0), ("at_current", 1e-3), ("series", 10e3)]),
        load("electronics", &[("capacitance", 10e-6), ("series", 47.0), ("current", 3e-3)]),
        LoadModel::OPEN,
    ];
    for (which, model) in loads.into_iter().enumerate() {
        let mut parts = parts(model.clone());
        parts.loads = core::array::from_fn(|_| model.clone());
        parts.jig.input_s = core::array::from_fn(|i| 5e-6 + 0.5e-6 * i as f64);
        let mut circuit = LoadCircuit::new(&parts);
        let mut acts: Vec<Act> = vec![
            ("supply on", |c| c.set_supply(true)),
            ("loads on", |c| (0..8).for_each(|i| c.set_switches(i, LOAD))),
            ("a closes", |c| (0..4).for_each(|k| c.set_contact(k, 0, true))),
            ("loads off", |c| (0..8).for_each(|i| c.set_switches(i, Switches::default()))),
            ("a opens", |c| (0..4).for_each(|k| c.set_contact(k, 0, false))),
            ("supply off", |c| c.set_supply(false)),
        ];
        for turn in 0..12 {
            let by = 1 + turn % 5;
            let at = turn % acts.len();
            acts.rotate_left(by);
            acts.swap(0, at);
            for (name, act) in &acts {
                act(&mut circuit);
                circuit.refresh();
                let mut waited_ms = 0;
                while !circuit.is_settled() {
                    circuit.advance(1_000);
                    waited_ms += 1;
                    let clamp = &circuit.clamps[0];
                    assert!(waited_ms < 3_000, "load {which}, turn {turn}, {name}: {clamp:?}");
                }
            }
        }
    }
}

/// With the supply off closed contacts join what hangs on two clamps by milliohms: what is left in their
/// capacitances runs down, and does not go to and fro.
#[test]
fn joined_clamps_come_to_rest_when_the_supply_goes_off() {
    let led = || load("led", &[("forward", 2.0), ("at_current", 0.01), ("series", 1_000.0)]);
    let mut parts = parts(led());
    parts.loads[2] = led();
    let mut circuit = LoadCircuit::new(&parts);
    for (clamp, output) in [(0, 0), (2, 1)] {
        circuit.set_switches(clamp, LOAD);
        circuit.set_contact(output, 0, true);
    }
    circuit.set_supply(true);
    circuit.advance(50_000);
    circuit.set_supply(false);
    circuit.advance(20_000);
    assert!(circuit.is_settled());
}

/// Two clamps of one output that touch: the current for the jig load of the open one flows through the
/// closed contact and the bridge. Nodes by hand: source 0.5, common 0.1, contact 0.2 to the end of 1a, from
/// there 22.15 to ground, and 5 to the end of 1b with its own 22.15.
#[test]
fn a_clamp_that_touches_feeds_its_neighbour() {
    for (first, onto) in [(0, 1), (1, 2)] {
        let mut parts = parts(LoadModel::OPEN);
        parts.leads.to_next_clamp_s[first] = 1.0 / 5.0;
        let mut circuit = LoadCircuit::new(&parts);
        (0..8).for_each(|clamp| circuit.set_switches(clamp, JIG));
        circuit.set_contact(first / 2, first % 2, true);
        circuit.set_supply(true);
        circuit.advance(5_000);
        let (own, other) = (1.0 / 22.15, 1.0 / (5.0 + 22.15));
        let total_a = 12.0 / (0.8 + 1.0 / (own + other));
        let end_v = 12.0 - 0.8 * total_a;
        close(circuit.clamp_a(first), end_v * own, 1e-4);
        close(circuit.clamp_a(onto), end_v * other, 1e-4);
        close(circuit.total_a(), total_a, 1e-4);
    }
}

/// Where next to nothing touches, the network solved all at once is the one solved output by output.
#[test]
fn all_at_once_is_the_same_as_output_by_output() {
    let apart = parts(LoadModel::resistor(30.0));
    let mut touching = apart.clone();
    touching.leads.to_next_clamp_s = [1e-15; 7];
    let [one, other] = [&apart, &touching].map(|parts| {
        let mut circuit = LoadCircuit::new(parts);
        (0..8).for_each(|clamp| circuit.set_switches(clamp, JIG));
        circuit.set_switches(0, Switches { load: true, bypass: true, jig_load: false });
        circuit.set_contact(0, 1, true);
        circuit.set_contact(2, 0, true);
        circuit.set_contact(3, 0, true);
        circuit.set_contact(3, 1, true);
        circuit.set_supply(true);
        circuit.refresh();
        circuit.advance(10_000);
        circuit
    });
    for clamp in 0..8 {
        assert!((one.clamp_a(clamp) - other.clamp_a(clamp)).abs() < 1e-9, "{clamp}");
        assert!((one.clamp_v(clamp) - other.clamp_v(clamp)).abs() < 1e-9, "{clamp}");
    }
}

/// A contact or a joint that opens carries nothing; closed again it carries what it did.
#[test]
fn what_comes_and_goes_carries_nothing_while_it_is_open() {
    let mut circuit = on(LoadModel::resistor(23.0));
    let before_a = circuit.clamp_a(0);
    circuit.set_contact_loose(0, 0, true);
    circuit.advance(5_000);
    assert!(circuit.clamp_a(0).abs() < 1e-5, "{}", circuit.clamp_a(0));
    circuit.set_contact_loose(0, 0, false);
    circuit.advance(5_000);
    close(circuit.clamp_a(0), before_a, 1e-6);
    circuit.set_parted(0, true);
    // The bypass drives the module's end of the lead: not past the joint.
    circuit.set_switches(0, Switches { bypass: true, ..LOAD });
    circuit.advance(5_000);
    assert!(circuit.clamp_a(0).abs() < 1e-5, "{}", circuit.clamp_a(0));
    circuit.set_parted(0, false);
    circuit.set_switches(0, LOAD);
    circuit.advance(5_000);
    close(circuit.clamp_a(0), before_a, 1e-6);
}
