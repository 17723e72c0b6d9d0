use super::*;
use crate::load::expected::expected_current;
use crate::load::specimens::{self, coil, exactly, motor, resistor, t};
use proptest::prelude::*;

fn lamp(ratio: &str, warm_up: &str) -> Circuit {
    specimens::lamp("12 V", ratio, warm_up)
}

fn at_12_v(circuit: &Circuit) -> Start {
    start(circuit, &Fed::directly(t("12 V"))).unwrap()
}

/// Eight times 150 mA, both at their ends: 135 mA · 6 to 165 mA · 10, and a lamp that is not quite
/// cold takes a tenth less.
#[test]
fn a_cold_lamp() {
    let found = at_12_v(&lamp("8 ±25 %", "4 ms ±50 %"));
    let (peak, decay) = (found.peak.unwrap(), found.decay.unwrap());
    assert!((peak.value.nominal.si() - 1.2).abs() < 1e-9);
    assert!((peak.value.lower.si() - 0.9 * 0.81).abs() < 1e-9);
    assert!((peak.value.upper.si() - 1.65).abs() < 1e-9);
    for (found, wanted) in
        [(decay.value.nominal, 0.004), (decay.value.lower, 0.002), (decay.value.upper, 0.006)]
    {
        assert!((found.si() / wanted - 1.0).abs() < 1e-9, "{found:?}");
    }
    assert!(peak.stated && decay.stated && found.rise.is_none());
    let plain = at_12_v(&lamp("8", "4 ms"));
    assert!(!plain.peak.unwrap().stated && !plain.decay.unwrap().stated);
    assert!((10.0..60.0).contains(&plain.rest.si()), "{:?}", plain.rest);
}

/// At standstill the winding alone limits the current: 510 to 690 mA.
#[test]
fn a_motor_that_stands() {
    let found = at_12_v(&motor());
    let peak = found.peak.unwrap();
    assert!((peak.value.lower.si() - 0.51).abs() < 1e-9);
    assert!((peak.value.upper.si() - 0.69).abs() < 1e-9);
    assert_eq!((peak.stated, found.decay.unwrap().stated), (true, false));
}

#[test]
fn what_else_hangs_there() {
    let resistor = resistor("220 ohm ±5 %");
    let fed = Fed::directly(t("12 V"));
    assert_eq!(start(&resistor, &fed), None);
    // 2.197 time constants of 3.333 ms (IEEE Std 181, closed form of a single pole).
    let rise = at_12_v(&coil("1.2 H ±30 %")).rise.unwrap();
    assert!((rise.value.nominal.si() - 7.324e-3).abs() < 1e-6 && rise.stated);
    // One that moves, and one that does not: the inrush comes on top.
    let both = specimens::parallel([lamp("8", "4 ms"), resistor]);
    let peak = at_12_v(&both).peak.unwrap().value;
    assert!((peak.nominal.si() - 1.2 - 12.0 / 220.0).abs() < 1e-9);
    // Two that move cannot be told apart.
    assert_eq!(start(&specimens::parallel([lamp("8", "4 ms"), motor()]), &fed), None);
    assert_eq!(start(&lamp("1", "4 ms"), &fed), None);
}

proptest! {
    /// Half of the excess is gone when the closed form of the current says so.
    #[test]
    fn half_of_the_excess_is_gone(
        volt in 6.0f64..18.0, ratio in 2.0f64..15.0, is_lamp: bool,
    ) {
        let circuit = if is_lamp { lamp(&format!("{ratio:.3}"), "4 ms") } else { motor() };
        let v = exactly(volt);
        let Some(found) = start(&circuit, &Fed::directly(v)) else { return Ok(()) };
        let at = |seconds: f64| expected_current(&circuit, v, Time::from_si(seconds)).nominal.si();
        let middle = at(found.decay.unwrap().value.nominal.si());
        let wanted = 0.5 * (at(0.0) + at(f64::INFINITY));
        prop_assert!((middle / wanted - 1.0).abs() < 1e-6, "{middle} {wanted}");
    }
}
