use super::*;
use crate::load::settle::{SETTLED_WITHIN, settle_time};
use crate::quantity::parse;
use proptest::prelude::*;

fn t<Q: Units>(text: &str) -> Toleranced<Q> {
    parse::toleranced(text).unwrap()
}

fn q<Q: Units>(text: &str) -> Q {
    parse::quantity(text).unwrap()
}

fn close(found: ElectricCurrent, expected: f64, share: f64) {
    let found = found.si();
    assert!((found / expected - 1.0).abs() < share, "{found} A, not {expected} A");
}

fn resistor(text: &str) -> Circuit {
    Circuit::Resistor { resistance: t(text) }
}

fn coil() -> Circuit {
    Circuit::Coil { resistance: t("360 ohm"), inductance: q("1.2 H") }
}

fn lamp() -> Circuit {
    Circuit::Lamp {
        rated_voltage: q("16 V"),
        rated_current: t("150 mA ±10 %"),
        inrush_ratio: 8.0,
        warm_up: q("4 ms"),
    }
}

fn motor() -> Circuit {
    Circuit::Motor {
        start_current: t("600 mA ±15 %"),
        run_current: t("150 mA ±20 %"),
        at_voltage: q("12 V"),
        run_up: q("25 ms"),
    }
}

fn led() -> Circuit {
    Circuit::Led { forward: t("2 V ±10 %"), at_current: q("10 mA"), series: t("1.5 kohm ±5 %") }
}

/// Ohm's law at the corners: 16 V ±5 % on 22 ohms ±5 % is 15.2 / 23.1 to 16.8 / 20.9 amperes.
#[test]
fn a_resistor_at_its_corners() {
    let i = settled_current(&resistor("22 ohm ±5 %"), t("16 V ±5 %"));
    close(i.nominal, 16.0 / 22.0, 1e-12);
    close(i.lower, 15.2 / 23.1, 1e-12);
    close(i.upper, 16.8 / 20.9, 1e-12);
}

/// IEC 60034-1 reckons copper's resistance as (235 + θ) / (235 + 20) of that at 20 °C: another
/// way to the same number.
#[test]
fn copper_agrees_with_the_235_rule() {
    for warmer in [-20.0, 30.0, 55.0] {
        let rule = (235.0 + 20.0 + warmer) / (235.0 + 20.0);
        assert!((1.0 + COPPER_PER_K * warmer - rule).abs() < 1e-3, "{warmer}");
    }
}

/// An exponential reaches 63.2 % after one time constant and 99.3 % after five (any handbook on
/// first-order circuits).
#[test]
fn a_coil_rises_with_its_time_constant() {
    let tau = 1.2 / 360.0;
    for (constants, share) in [(1.0, 0.632), (2.0, 0.865), (3.0, 0.950), (5.0, 0.993)] {
        let i = expected_current(&coil(), t("12 V"), Time::from_si(constants * tau));
        close(i.nominal, share * 12.0 / 360.0, 1e-3);
    }
}

/// At 0.55, half the voltage leaves 68 % of the current (Fink and Beaty, as above).
#[test]
fn a_lamp_at_half_its_voltage() {
    let i = settled_current(&lamp(), t("8 V"));
    close(i.nominal, 0.683 * 0.15, 1e-3);
    assert!(i.lower < i.nominal && i.nominal < i.upper);
    let cold = expected_current(&lamp(), t("16 V"), Time::from_si(0.0));
    close(cold.nominal, 8.0 * 0.15, 1e-9);
    let middle = expected_current(&lamp(), t("16 V"), q("4 ms"));
    close(middle.nominal, 4.5 * 0.15, 1e-9);
}

#[test]
fn a_motor_starts_and_runs() {
    close(expected_current(&motor(), t("12 V"), Time::from_si(0.0)).nominal, 0.6, 1e-12);
    close(settled_current(&motor(), t("12 V")).nominal, 0.15, 1e-12);
    // Running at 10 % less voltage: between no change and 10 % less.
    let i = settled_current(&motor(), t("10.8 V"));
    close(i.lower, 0.15 * 0.8 * 0.9, 1e-12);
    close(i.upper, 0.15 * 1.2, 1e-12);
}

#[test]
fn parallel_circuits_add_up() {
    let parts = [lamp(), led(), coil()];
    let together = settled_current(&Circuit::Parallel(parts.to_vec()), t("16 V ±5 %"));
    let each = parts.map(|p| settled_current(&p, t("16 V ±5 %")));
    assert_eq!(together.nominal, each[0].nominal + each[1].nominal + each[2].nominal);
    assert_eq!(together.lower, each[0].lower + each[1].lower + each[2].lower);
    assert_eq!(together.upper, each[0].upper + each[1].upper + each[2].upper);
}

#[test]
fn settled_means_settled() {
    let both = Circuit::Parallel(vec![lamp(), coil()]);
    for (circuit, volts) in [(lamp(), "16 V"), (coil(), "12 V"), (motor(), "12 V"), (both, "16 V")]
    {
        let after = settle_time(&circuit);
        let now = expected_current(&circuit, t(volts), after).nominal.si();
        let end = settled_current(&circuit, t(volts)).nominal.si();
        assert!((now / end - 1.0).abs() <= SETTLED_WITHIN * 1.001, "{circuit:?}: {now} {end}");
    }
}

/// Against a circuit simulator: `fixtures/reference/load-currents.csv` holds what ngspice
/// computed from the netlists beside it; how is said there.
#[test]
fn agrees_with_a_circuit_simulator() {
    let table = include_str!("../../../fixtures/reference/load-currents.csv");
    let mut checked = 0;
    for row in table.lines().filter(|l| !l.starts_with('#')).skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let number = |i: usize| cells[i].parse::<f64>().unwrap();
        let (voltage, time, spice) = (number(1), number(2), number(3));
        let (circuit, share) = match cells[0] {
            "resistor" => (resistor("22 ohm"), 1e-6),
            "coil" => (coil(), 1e-3),
            // One red diode: emission coefficient 2, 300.15 K.
            "led" => (led(), 2e-3),
            // Two in series with a small resistor, where the slope matters most.
            "led-pair" => {
                let (forward, series) = (t("4 V"), t("100 ohm"));
                (Circuit::Led { forward, at_current: q("10 mA"), series }, 1e-2)
            }
            "coil-and-resistor" => (Circuit::Parallel(vec![coil(), resistor("22 ohm")]), 1e-3),
            other => panic!("unknown circuit {other}"),
        };
        let v = ElectricPotential::from_si(voltage);
        let v = Toleranced { nominal: v, lower: v, upper: v };
        let i = expected_current(&circuit, v, Time::from_si(time));
        close(i.nominal, spice, share);
        assert!(i.lower.si() <= spice * (1.0 + share) && spice <= i.upper.si() * (1.0 + share));
        checked += 1;
    }
    assert!(checked >= 20, "only {checked} rows");
}

proptest! {
    #[test]
    fn the_nominal_lies_within_its_window(
        volts in 0.5f64..24.0, percent in 0.0f64..20.0, seconds in 0.0f64..2.0, which in 0usize..5,
    ) {
        let circuit = [resistor("22 ohm ±5 %"), led(), lamp(), coil(), motor()][which].clone();
        let at = |by: f64| ElectricPotential::from_si(volts * (1.0 + by / 100.0));
        let v = Toleranced { nominal: at(0.0), lower: at(-percent), upper: at(percent) };
        let i = expected_current(&circuit, v, Time::from_si(seconds));
        prop_assert!(i.lower <= i.nominal && i.nominal <= i.upper, "{i:?}");
        prop_assert!(i.lower.si() >= 0.0 && i.upper.si().is_finite());
    }
}
