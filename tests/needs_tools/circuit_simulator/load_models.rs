//! The closed forms of `load`.

use super::deviations::Deviations;
use super::ngspice;
use super::trace::Trace;
use musterbench::load::kinds::{Coil, Lamp, Led, Motor, Part};
use musterbench::load::{Circuit, Fed, expected_current, explained, settled_current};
use musterbench::quantity::parse;
use musterbench::quantity::range::Toleranced;
use musterbench::quantity::unit::Units;
use uom::si::f64::{ElectricPotential, ThermodynamicTemperature, Time};

fn t<Q: Units>(text: &str) -> Toleranced<Q> {
    parse::toleranced(text).expect(text)
}

fn q<Q: Units>(text: &str) -> Q {
    parse::quantity(text).expect(text)
}

fn exactly<Q: Units>(si: f64) -> Toleranced<Q> {
    let value = Q::from_si(si);
    Toleranced { nominal: value, lower: value, upper: value }
}

fn volts(v: f64) -> Toleranced<ElectricPotential> {
    exactly(v)
}

/// The current from switching on at a voltage.
fn course(circuit: &Circuit, v: f64, end: f64) -> Trace {
    let at = |t| expected_current(circuit, volts(v), Time::from_si(t)).nominal.si();
    Trace::of(end, 2_000, at)
}

fn settled(circuit: &Circuit, v: f64) -> f64 {
    settled_current(circuit, volts(v)).nominal.si()
}

fn last(trace: &Trace) -> f64 {
    *trace.values.last().expect("a point")
}

pub fn coil(ohm: f64, henry: f64) -> Circuit {
    let temperature = exactly::<ThermodynamicTemperature>(20.0);
    Circuit::from(Part::Coil(Coil {
        resistance: exactly(ohm),
        inductance: exactly(henry),
        temperature,
        has_diode: true,
    }))
}

pub fn lamp(rated_v: f64, rated_a: f64, inrush_ratio: f64, warm_up_s: f64) -> Circuit {
    Circuit::from(Part::Lamp(Lamp {
        rated_voltage: ElectricPotential::from_si(rated_v),
        rated_current: exactly(rated_a),
        inrush_ratio: exactly(inrush_ratio),
        warm_up: exactly(warm_up_s),
    }))
}

/// The heat capacity with which the simulator's filament has lost half of its inrush after a time:
/// times go with the capacity, so one run tells.
pub fn heat(rated_v: f64, rated_a: f64, inrush_ratio: f64, warm_up_s: f64) -> f64 {
    let numbers = [
        ("supply_v", rated_v),
        ("rated_v", rated_v),
        ("rated_a", rated_a),
        ("inrush_ratio", inrush_ratio),
        ("heat", rated_v * rated_a),
        ("end_s", 4.0),
        ("step_s", 1e-3),
    ];
    let current = &ngspice::run("lamp.cir", &numbers)["i(vload)"];
    let half = current.passes(0.5 * (1.0 + inrush_ratio) * rated_a, 0.0).expect("half");
    rated_v * rated_a * warm_up_s / half
}

/// By then the current of the simulator's winding has risen (its time constant is 1 µs; the closed
/// form has none).
pub const WINDING_S: f64 = 20e-6;

/// The inertia with which the simulator's motor has lost half of its excess after a time.
pub fn inertia(start_a: f64, run_a: f64, at_v: f64, run_up_s: f64, dry: f64) -> f64 {
    let numbers = [
        ("supply_v", at_v),
        ("start_a", start_a),
        ("run_a", run_a),
        ("at_v", at_v),
        ("inertia", 1e-3),
        ("dry", dry),
        ("end_s", 0.5),
    ];
    let current = &ngspice::run("motor.cir", &numbers)["i(vload)"];
    let half = current.passes(0.5 * (start_a + run_a), WINDING_S).expect("half");
    1e-3 * run_up_s / half
}

#[test]
#[ignore = "needs ngspice"]
fn resistors() {
    let mut found = Deviations::of("load: resistor");
    for (ohm, v) in [("22 ohm", 12.0), ("4K7", 5.0), ("R47", 1.0)] {
        let resistance = musterbench::load::marking::resistance(ohm)
            .or_else(|_| parse::toleranced(ohm))
            .expect(ohm);
        let circuit = Circuit::resistor(resistance);
        let numbers = [("supply_v", v), ("ohm", resistance.nominal.si())];
        let theirs = &ngspice::run("resistor.cir", &numbers)["i(vload)"];
        found.steady(settled(&circuit, v), last(theirs));
    }
    found.tell();
}

/// The closed form has an emission coefficient of two for each 2 V of forward voltage, and 27 °C.
#[test]
#[ignore = "needs ngspice"]
fn light_emitting_diodes() {
    let mut found = Deviations::of("load: light-emitting diode");
    for (forward, at, series) in [
        ("2 V", "10 mA", "1.5 kohm"),
        ("2 V", "20 mA", "470 ohm"),
        ("3.1 V", "10 mA", "910 ohm"),
        ("4 V", "10 mA", "100 ohm"),
    ] {
        let circuit = Circuit::from(Part::Led(Led {
            forward: t(forward),
            at_current: q(at),
            series: t(series),
        }));
        let forward_v = t::<ElectricPotential>(forward).nominal.si();
        for v in [0.0, 0.2, 1.0, 3.0, 8.0, 20.0].map(|above| forward_v + above) {
            let numbers = [
                ("supply_v", v),
                ("forward_v", forward_v),
                ("at_a", q::<uom::si::f64::ElectricCurrent>(at).si()),
                ("series_ohm", t::<uom::si::f64::ElectricalResistance>(series).nominal.si()),
                ("emission", forward_v),
            ];
            let theirs = &ngspice::run("led.cir", &numbers)["i(vload)"];
            found.steady(settled(&circuit, v), last(theirs));
        }
    }
    found.tell();
}

#[test]
#[ignore = "needs ngspice"]
fn coils() {
    let mut found = Deviations::of("load: coil");
    for (ohm, henry, v) in [(360.0, 1.2, 12.0), (48.0, 0.09, 16.0)] {
        let circuit = coil(ohm, henry);
        let end = 20.0 * henry / ohm;
        let numbers = [
            ("supply_v", v),
            ("ohm", ohm),
            ("henry", henry),
            ("end_s", end),
            ("step_s", end / 5e3),
        ];
        let theirs = &ngspice::run("coil.cir", &numbers)["i(vload)"];
        found.steady(settled(&circuit, v), last(theirs));
        found.change(&course(&circuit, v, end), theirs, 0.0, end, 0.0);
        let [Part::Coil(coil)] = &circuit.parts[..] else { panic!("{circuit:?}") };
        let rise = coil.rise_time().nominal.si();
        let [begins, ends] =
            [0.1, 0.9].map(|share| theirs.passes(share * last(theirs), 0.0).expect("passed"));
        assert!((rise / (ends - begins) - 1.0).abs() < 1e-2, "{rise}");
    }
    found.tell();
}

/// The closed form leaves the warmth of the room out, the simulator does not.
#[test]
#[ignore = "needs ngspice"]
fn lamps() {
    let mut found = Deviations::of("load: filament lamp");
    for (rated_v, rated_a, ratio, warm_up_s) in
        [(12.0, 0.15, 8.0, 4e-3), (16.0, 0.06, 12.0, 10e-3), (6.0, 0.5, 6.0, 40e-3)]
    {
        let circuit = lamp(rated_v, rated_a, ratio, warm_up_s);
        let heat = heat(rated_v, rated_a, ratio, warm_up_s);
        for share in [0.6, 0.9, 1.0, 1.1] {
            let (v, end) = (share * rated_v, 400.0 * warm_up_s);
            let numbers = [
                ("supply_v", v),
                ("rated_v", rated_v),
                ("rated_a", rated_a),
                ("inrush_ratio", ratio),
                ("heat", heat),
                ("end_s", end),
                ("step_s", end / 5e3),
            ];
            let theirs = &ngspice::run("lamp.cir", &numbers)["i(vload)"];
            found.steady(settled(&circuit, v), last(theirs));
            let cold = ratio * rated_a * share;
            found.change(&course(&circuit, v, end), theirs, 0.0, end, cold);
        }
    }
    found.tell();
}

/// The nominal run current is that of dry friction; the simulator's wet friction must lie in the
/// window too.
#[test]
#[ignore = "needs ngspice"]
fn motors() {
    let mut found = Deviations::of("load: motor");
    for (start_a, run_a, at_v, run_up_s) in [(0.6, 0.15, 12.0, 25e-3), (0.35, 0.05, 6.0, 80e-3)] {
        let circuit = Circuit::from(Part::Motor(Motor {
            start_current: exactly(start_a),
            run_current: exactly(run_a),
            at_voltage: ElectricPotential::from_si(at_v),
            run_up: exactly(run_up_s),
        }));
        for share in [0.8, 1.0, 1.2] {
            let (v, end) = (share * at_v, 20.0 * run_up_s);
            let run = |dry: f64| {
                let numbers = [
                    ("supply_v", v),
                    ("start_a", start_a),
                    ("run_a", run_a),
                    ("at_v", at_v),
                    ("inertia", inertia(start_a, run_a, at_v, run_up_s, dry)),
                    ("dry", dry),
                    ("end_s", end),
                    ("step_s", end / 5e3),
                ];
                ngspice::run("motor.cir", &numbers)["i(vload)"].from(WINDING_S)
            };
            let dry = run(1.0);
            found.steady(settled(&circuit, v), last(&dry));
            found.change(&course(&circuit, v, end), &dry, 0.0, end, start_a * share);
            let window = settled_current(&circuit, volts(v));
            let wet = last(&run(0.0));
            let room = 1e-3 * wet;
            assert!(window.lower.si() <= wet + room && wet - room <= window.upper.si(), "{wet}");
        }
    }
    found.tell();
}

#[test]
#[ignore = "needs ngspice"]
fn several_in_parallel() {
    let mut found = Deviations::of("load: lamp, diode and coil in parallel");
    let led = Led { forward: t("2 V"), at_current: q("10 mA"), series: t("1 kohm") };
    let all = [lamp(12.0, 0.06, 7.0, 3e-3), Part::Led(led).into(), coil(360.0, 1.2)];
    let circuit = Circuit { parts: all.into_iter().flat_map(|one| one.parts).collect() };
    let heat = heat(12.0, 0.06, 7.0, 3e-3);
    for v in [10.8, 12.0, 13.2] {
        let numbers = [("supply_v", v), ("heat", heat), ("end_s", 1.2)];
        let theirs = &ngspice::run("parallel.cir", &numbers)["i(vload)"];
        found.steady(settled(&circuit, v), last(theirs));
        let start = theirs.at(1e-6);
        found.change(&course(&circuit, v, 1.2), theirs, 0.0, 1.2, start);
    }
    found.tell();
}

/// The corner that makes an end of a settled current's window, its inputs by name, and that end.
fn corner(circuit: &Circuit, volts: &str, way_ohm: f64, lowest: bool) -> (Corner, f64) {
    let fed = Fed::behind(t(volts), way_ohm);
    let found = explained(circuit, &fed, Time::from_si(f64::INFINITY));
    let inputs = found
        .contributions
        .iter()
        .map(|c| (c.input.name, if lowest { c.at_lowest } else { c.at_highest }));
    let end = if lowest { found.current.lower } else { found.current.upper };
    (Corner(inputs.collect()), end.si())
}

struct Corner(Vec<(&'static str, f64)>);

impl Corner {
    fn of(&self, name: &str) -> f64 {
        self.0.iter().find(|(input, _)| *input == name).expect(name).1
    }
}

/// The ends of the windows: the simulator draws at the corners what the closed forms say, with the
/// resistance on the way in series.
#[test]
#[ignore = "needs ngspice"]
fn corners_of_the_windows() {
    let mut found = Deviations::of("load: corners of windows");
    let resistor = Circuit::resistor(t("22 ohm ±5 %"));
    let led = Circuit::from(Part::Led(Led {
        forward: t("2 V ±10 %"),
        at_current: q("10 mA"),
        series: t("1 kohm ±5 %"),
    }));
    let warm = Toleranced { nominal: q("20 °C"), lower: q("10 °C"), upper: q("45 °C") };
    let coil = Circuit::from(Part::Coil(Coil {
        resistance: t("360 ohm ±10 %"),
        inductance: t("1.2 H"),
        temperature: warm,
        has_diode: true,
    }));
    let motor = Circuit::from(Part::Motor(Motor {
        start_current: t("600 mA"),
        run_current: t("150 mA ±20 %"),
        at_voltage: q("12 V"),
        run_up: t("25 ms"),
    }));
    let way = 0.4;
    for lowest in [true, false] {
        let (at, end) = corner(&resistor, "12 V ±5 %", way, lowest);
        let ohm = at.of("resistance") + at.of("resistance on the way");
        let numbers = [("supply_v", at.of("voltage")), ("ohm", ohm)];
        found.steady(end, last(&ngspice::run("resistor.cir", &numbers)["i(vload)"]));

        let (at, end) = corner(&led, "12 V ±5 %", way, lowest);
        let slope = at.of("slope of the diode") / (1.380_649e-23 * 300.15 / 1.602_176_634e-19);
        let numbers = [
            ("supply_v", at.of("voltage")),
            ("forward_v", at.of("forward voltage")),
            ("at_a", 0.01),
            ("series_ohm", at.of("series resistance") + at.of("resistance on the way")),
            ("emission", slope),
        ];
        found.steady(end, last(&ngspice::run("led.cir", &numbers)["i(vload)"]));

        let (at, end) = corner(&coil, "12 V ±5 %", way, lowest);
        // The coefficient of copper at 20 °C (IEC 60028).
        let copper = 1.0 + 0.003_93 * (at.of("temperature") - 20.0);
        let numbers = [
            ("supply_v", at.of("voltage")),
            ("ohm", at.of("resistance") * copper + at.of("resistance on the way")),
            ("henry", 1.2),
            ("end_s", 20.0 * 1.2 / 360.0),
            ("step_s", 1e-4),
        ];
        found.steady(end, last(&ngspice::run("coil.cir", &numbers)["i(vload)"]));

        // A motor of which only the voltage is left on the way: straight on the supply.
        let (at, end) = corner(&motor, "12 V ±5 %", 0.0, lowest);
        let wet = at.of("exponent of the run current");
        let run_a = at.of("run current");
        let numbers = [
            ("supply_v", at.of("voltage")),
            ("start_a", 0.6),
            ("run_a", run_a),
            ("at_v", 12.0),
            ("inertia", inertia(0.6, run_a, 12.0, 0.025, 1.0 - wet)),
            ("dry", 1.0 - wet),
            ("end_s", 1.0),
        ];
        found.steady(end, last(&ngspice::run("motor.cir", &numbers)["i(vload)"]));
    }
    found.tell();
}
