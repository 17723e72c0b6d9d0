use super::*;
use crate::quantity::parse;
use proptest::prelude::*;
use uom::si::f64::{ElectricCurrent, ElectricalResistance, Frequency, Ratio, Time};

fn current(amperes: f64) -> ElectricCurrent {
    ElectricCurrent::from_si(amperes)
}

#[test]
fn writes_with_engineering_prefixes() {
    assert_eq!(exact(current(0.25)), "250 mA");
    assert_eq!(exact(current(1.5)), "1.5 A");
    assert_eq!(exact(current(0.0)), "0 A");
    assert_eq!(exact(current(12.0)), "12 A");
    assert_eq!(exact(ElectricalResistance::from_si(4700.0)), "4.7 kohm");
    assert_eq!(exact(Ratio::from_si(0.125)), "12.5 %");
    assert_eq!(brief(Time::from_si(1.0 / 30.0)), "33.33 ms");
    assert_eq!(brief(Time::from_si(0.999_96)), "1 s");
}

#[test]
fn writes_limits_and_tolerances() {
    let l = |text| limits(parse::limits::<Time>(text).unwrap());
    assert_eq!(l("20 to 80 ms"), "20 to 80 ms");
    assert_eq!(l("20 ms to 1 s"), "20 ms to 1 s");
    assert_eq!(l("at most 40 ms"), "at most 40 ms");
    assert_eq!(l("any"), "any");
    let t = parse::toleranced::<Frequency>("2 Hz +-10 %").unwrap();
    assert_eq!(toleranced(t), "2 Hz ±10 %");
}

proptest! {
    #[test]
    fn exact_comes_back_exactly(mantissa in 0u64..10_000_000_000, power in -18i32..6) {
        let value: f64 = format!("{mantissa}e{power}").parse().unwrap();
        let written = exact(current(value));
        prop_assert_eq!(parse::quantity::<ElectricCurrent>(&written).unwrap().si(), value);
        let written = exact(Ratio::from_si(value));
        prop_assert_eq!(parse::quantity::<Ratio>(&written).unwrap().si(), value);
    }

    #[test]
    fn any_finite_positive_number_comes_back(bits in any::<u64>()) {
        let value = f64::from_bits(bits).abs();
        prop_assume!(value.is_finite() && value < 1e300 && value > 1e-300);
        let written = exact(Time::from_si(value));
        prop_assert_eq!(parse::quantity::<Time>(&written).unwrap().si(), value);
    }

    #[test]
    fn tolerances_come_back(nominal in 1u32..1_000_000, tenths in 0u32..999) {
        let text = format!("{nominal} mA ±{}.{} %", tenths / 10, tenths % 10);
        let t = parse::toleranced::<ElectricCurrent>(&text).unwrap();
        let again = parse::toleranced::<ElectricCurrent>(&toleranced(t)).unwrap();
        prop_assert_eq!(t.nominal.si(), again.nominal.si());
        prop_assert!((t.lower.si() - again.lower.si()).abs() <= 1e-12 * t.nominal.si());
        prop_assert!((t.upper.si() - again.upper.si()).abs() <= 1e-12 * t.nominal.si());
    }

    #[test]
    fn limits_come_back(lower in 1u32..9_999, more in 1u32..9_980) {
        let text = format!("{lower} µs to {} ms", lower / 1000 + more);
        let l = parse::limits::<Time>(&text).unwrap();
        // Written to four significant digits, which is all that these have.
        prop_assert_eq!(parse::limits::<Time>(&limits(l)).unwrap(), l);
    }
}
