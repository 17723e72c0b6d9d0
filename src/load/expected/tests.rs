use super::*;
use crate::load::kinds::{Measured, Part};
use crate::load::settle::{SETTLED_WITHIN, settle_time};
use crate::load::specimens::{self, led, motor, q, resistor, t};
use proptest::prelude::*;

fn close(found: ElectricCurrent, expected: f64, share: f64) {
    let found = found.si();
    assert!((found / expected - 1.0).abs() < share, "{found} A, not {expected} A");
}

fn coil() -> Circuit {
    specimens::coil("1.2 H")
}

fn lamp() -> Circuit {
    specimens::lamp("16 V", "8", "4 ms")
}

/// Ohm's law at the corners: 16 V ±5 % on 22 ohms ±5 % is 15.2 / 23.1 to 16.8 / 20.9 amperes.
#[test]
fn a_resistor_at_its_corners() {
    let i = settled_current(&resistor("22 ohm ±5 %"), t("16 V ±5 %"));
    close(i.nominal, 16.0 / 22.0, 1e-12);
    close(i.lower, 15.2 / 23.1, 1e-12);
    close(i.upper, 16.8 / 20.9, 1e-12);
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

/// Half the voltage leaves 68 % of the current at Fink and Beaty's exponent of 0.55, 67 % at the 0.58
/// of vacuum lamps, 69 % at the 0.54 of gas-filled ones.
#[test]
fn a_lamp_at_half_its_voltage() {
    let i = settled_current(&lamp(), t("8 V"));
    close(i.nominal, 0.688 * 0.15, 1e-3);
    for share in [0.687, 0.683, 0.669] {
        assert!(i.lower.si() < share * 0.15 && share * 0.15 < i.upper.si());
    }
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

/// A coil of 360 ohms and 1.2 H rises from 10 % to 90 % in ln 9 = 2.197 time constants (IEEE Std 181,
/// closed form of a single pole); warm copper makes it faster.
#[test]
fn a_coil_has_a_rise_time() {
    let circuit = coil();
    let [Part::Coil(coil)] = &circuit.parts[..] else { panic!("{circuit:?}") };
    let rise = coil.rise_time();
    assert!((rise.nominal.si() / (2.197_225 * 1.2 / 360.0) - 1.0).abs() < 1e-6);
    let warm = 1.0 + 0.003_93 * 25.0;
    assert!((rise.lower.si() * warm / rise.nominal.si() - 1.0).abs() < 1e-9);
    assert!(rise.upper > rise.nominal);
}

/// A running motor's current goes with anything between none and all of its voltage: 120 mA at
/// 11.4 V of 12 V make 114 mA, 180 mA at 12.6 V make 189 mA. Either end needs three inputs at once,
/// of which two do nothing one by one.
#[test]
fn a_motor_at_its_corners() {
    let i = settled_current(&motor(), t("12 V ±5 %"));
    close(i.nominal, 0.150, 1e-12);
    close(i.lower, 0.114, 1e-12);
    close(i.upper, 0.189, 1e-12);
}

/// GUM 5.1.3: the sensitivity of `V/R` to `R` is `−V/R²`, to `V` it is `1/R`.
#[test]
fn contributions_of_a_resistor() {
    let fed = Fed::behind(t("12 V ±1 %"), 0.5);
    let found = explained(&resistor("22 ohm ±5 %"), &fed, Time::from_si(f64::INFINITY));
    let [v, way, r] = &found.contributions[..] else { panic!("{found:?}") };
    assert_eq!((v.input.name, r.input.name), ("voltage", "resistance"));
    assert!((v.sensitivity * 22.0 - 1.0).abs() < 1e-9);
    assert!((r.sensitivity * 22.0 * 22.0 / -12.0 - 1.0).abs() < 3e-3, "{}", r.sensitivity);
    assert_eq!((v.at_lowest, way.at_lowest), (v.input.lower, 0.5));
    assert_eq!((r.at_lowest, r.at_highest), (r.input.upper, r.input.lower));
    // Nothing on the way makes the highest current.
    assert_eq!((way.at_highest, way.above_a), (0.0, 0.0));
    close(found.current.lower, 12.0 * 0.99 / (22.0 * 1.05 + 0.5), 1e-12);
    close(found.current.upper, 12.0 * 1.01 / (22.0 * 0.95), 1e-12);
}

#[test]
fn contributions_say_whose_they_are() {
    let both = specimens::parallel([led(), coil()]);
    let found = explained(&both, &Fed::directly(t("12 V")), Time::from_si(f64::INFINITY));
    let whose: Vec<_> = found.contributions.iter().map(|c| (c.part, c.input.name)).collect();
    assert_eq!(whose[0], (None, "voltage"));
    assert_eq!(whose[1], (None, "resistance on the way"));
    assert_eq!(whose[2], (Some(1), "forward voltage"));
    assert_eq!(whose[5], (Some(2), "resistance"));
    assert_eq!(whose[6], (Some(2), "temperature"));
    // A settled current does not depend on the inductance; the measured voltage has no tolerance,
    // but a sensitivity.
    assert_eq!(found.contributions[7].share, 0.0);
    assert!(found.contributions[0].sensitivity > 0.0 && found.contributions[0].share == 0.0);
}

/// A sample tells nothing of how its current goes with the voltage: near the voltage of the sample
/// that hardly matters.
#[test]
fn a_sample_at_its_voltage_and_beside_it() {
    let (at_voltage, settled_after) = (q("12 V"), q("1 s"));
    let current = t("500 mA ±2 %");
    let sample = Part::Measured(Measured { current, at_voltage, settled_after }).into();
    let at = settled_current(&sample, t("12 V"));
    assert_eq!((at.lower.si(), at.upper.si()), (0.49, 0.51));
    let beside = settled_current(&sample, t("12.12 V"));
    close(beside.lower, 0.49, 1e-12);
    close(beside.upper, 0.51 * 1.01 * 1.01, 1e-12);
}

#[test]
fn parallel_circuits_add_up() {
    let parts = [lamp(), led(), coil()];
    let together = settled_current(&specimens::parallel(parts.clone()), t("16 V ±5 %"));
    let each = parts.map(|p| settled_current(&p, t("16 V ±5 %")));
    close(together.nominal, each.iter().map(|i| i.nominal.si()).sum(), 1e-12);
    close(together.lower, each.iter().map(|i| i.lower.si()).sum(), 1e-12);
    close(together.upper, each.iter().map(|i| i.upper.si()).sum(), 1e-12);
}

#[test]
fn settled_means_settled() {
    let both = specimens::parallel([lamp(), coil()]);
    for (circuit, volts) in [(lamp(), "16 V"), (coil(), "12 V"), (motor(), "12 V"), (both, "16 V")]
    {
        let after = settle_time(&circuit, t(volts));
        let now = expected_current(&circuit, t(volts), after).nominal.si();
        let end = settled_current(&circuit, t(volts)).nominal.si();
        assert!((now / end - 1.0).abs() <= SETTLED_WITHIN * 1.001, "{circuit:?}: {now} {end}");
    }
}

proptest! {
    /// What is shown adds up to the window that is used.
    #[test]
    fn contributions_add_up_to_the_window(
        volts in 0.5f64..24.0, percent in 0.0f64..20.0, ohm in 0.0f64..1.0, which in 0usize..6,
    ) {
        let both = specimens::parallel([lamp(), coil(), motor()]);
        let circuit = [resistor("22 ohm ±5 %"), led(), lamp(), coil(), motor(), both][which].clone();
        let at = |by: f64| ElectricPotential::from_si(volts * (1.0 + by / 100.0));
        let v = Toleranced { nominal: at(0.0), lower: at(-percent), upper: at(percent) };
        let settled = Time::from_si(f64::INFINITY);
        let found = explained(&circuit, &Fed::behind(v, ohm), settled);
        prop_assert_eq!(found.current, window(&circuit, &Fed::behind(v, ohm), settled));
        let i = found.current;
        prop_assert!(i.lower <= i.nominal && i.nominal <= i.upper, "{i:?}");
        prop_assert!(i.lower.si() >= 0.0 && i.upper.si().is_finite());
        let sum = |of: fn(&Contribution) -> f64| found.contributions.iter().map(of).sum::<f64>();
        let close = |a: f64, b: f64| (a - b).abs() < 1e-9 * i.upper.si();
        prop_assert!(close(sum(|c| c.below_a), (i.nominal - i.lower).si()));
        prop_assert!(close(sum(|c| c.above_a), (i.upper - i.nominal).si()));
        prop_assert!((sum(|c| c.share) - 1.0).abs() < 1e-6 || i.lower == i.upper);
    }
}
