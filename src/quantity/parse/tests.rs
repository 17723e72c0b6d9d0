use super::*;
use proptest::prelude::*;
use uom::si::f64::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Frequency,
    Inductance, Ratio, Time,
};

fn si<Q: Units>(text: &str) -> f64 {
    quantity::<Q>(text).unwrap_or_else(|e| panic!("{text}: {e:?}")).si()
}

#[test]
fn quantities() {
    assert_eq!(si::<ElectricCurrent>("250 mA"), 0.25);
    assert_eq!(si::<ElectricCurrent>("250mA"), 0.25);
    assert_eq!(si::<ElectricCurrent>(" 0.1  A "), 0.1);
    for micro in ["3 \u{B5}A", "3 \u{3BC}A", "3 uA"] {
        assert_eq!(si::<ElectricCurrent>(micro), 3e-6);
    }
    for ohm in ["4.7 kohm", "4.7 k\u{3A9}", "4.7 k\u{2126}", "4700 ohm", "4700 \u{3A9}"] {
        assert_eq!(si::<ElectricalResistance>(ohm), 4700.0);
    }
    assert_eq!(si::<ElectricalResistance>("150 mohm"), 0.15);
    assert_eq!(si::<ElectricalResistance>("1 M\u{3A9}"), 1e6);
    assert_eq!(si::<Time>("120 ms"), 0.12);
    assert_eq!(si::<Inductance>("350 mH"), 0.35);
    assert_eq!(si::<ElectricCharge>("12 mC"), 0.012);
    assert_eq!(si::<Frequency>("900 mHz"), 0.9);
    assert_eq!(si::<Ratio>("45 %"), 0.45);
    // A blank that does not break lines, as word processors put it.
    assert_eq!(si::<ElectricPotential>("16\u{A0}V"), 16.0);
}

/// Rounded once, as IEEE 754 wants it: the same number that the SI value written out gives.
#[test]
fn rounded_once() {
    for (text, written_out) in [("0.3 mA", 0.000_3), ("70.1 µA", 0.000_070_1), ("1.1 mA", 0.001_1)]
    {
        assert_eq!(si::<ElectricCurrent>(text), written_out);
    }
}

#[test]
fn tolerances() {
    let t = toleranced::<ElectricPotential>("16 V ±5 %").unwrap();
    assert_eq!((t.lower.si(), t.nominal.si(), t.upper.si()), (15.2, 16.0, 16.8));
    assert_eq!(toleranced("16 V +- 5 %"), Ok(t));
    assert_eq!(toleranced("16 V+/-5%"), Ok(t));
    assert_eq!(toleranced("16 V ±800 mV"), Ok(t));
    let bare = toleranced::<ElectricPotential>("16 V").unwrap();
    assert_eq!((bare.lower, bare.upper), (bare.nominal, bare.nominal));
}

#[test]
fn ranges() {
    let l = |text| {
        let l = limits::<Time>(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
        (l.lower.map(Units::si), l.upper.map(Units::si))
    };
    assert_eq!(l("20 to 80 ms"), (Some(0.02), Some(0.08)));
    assert_eq!(l("20 ms to 1 s"), (Some(0.02), Some(1.0)));
    assert_eq!(l("at most 40 ms"), (None, Some(0.04)));
    assert_eq!(l("at least 2 s"), (Some(2.0), None));
    assert_eq!(l("1 s ±25 %"), (Some(0.75), Some(1.25)));
    assert_eq!(l("any"), (None, None));
}

#[test]
fn slips_say_what_and_where() {
    let mut told = Vec::new();
    let mut tell = |text: &str, slip: Slip| {
        let marked = text.get(slip.span.clone()).unwrap_or("(not on a boundary)");
        told.push(format!("{text:?} at {marked:?}: {}", slip.message));
    };
    for text in [
        "",
        " ",
        "250",
        "mA",
        "-5 mA",
        "1,5 mA",
        "1.5.2 mA",
        ".5 mA",
        "5. mA",
        "1e3 mA",
        "5 V",
        "5 ma",
        "5 mA extra",
        "5 mA 6",
        "5 mA ±",
        "0x10 A",
        "1_000 mA",
        "१ mA",
        "∞ A",
    ] {
        tell(text, quantity::<ElectricCurrent>(text).expect_err(text));
    }
    for text in ["16 V ±", "16 V ±100 %", "16 V ±5", "16 V ±5 A", "16 V ± -5 %", "16 V ±5 % ±5 %"]
    {
        tell(text, toleranced::<ElectricPotential>(text).expect_err(text));
    }
    for text in [
        "20 ms",
        "80 to 20 ms",
        "20 to ms",
        "20 to 80",
        "20 V to 80 ms",
        "at 40 ms",
        "at most",
        "to 80 ms",
        "about 40 ms",
        "20 to 80 to 90 ms",
        "20 - 80 ms",
    ] {
        tell(text, limits::<Time>(text).expect_err(text));
    }
    insta::assert_snapshot!(told.join("\n"));
}

proptest! {
    #[test]
    fn whatever_stands_there_never_panics_and_slips_lie_within(text in "\\PC{0,40}") {
        for slip in [
            quantity::<ElectricCurrent>(&text).err(),
            toleranced::<ElectricalResistance>(&text).err(),
            limits::<Time>(&text).err(),
        ].into_iter().flatten() {
            prop_assert!(text.get(slip.span.clone()).is_some(), "{:?} in {:?}", slip, text);
        }
    }

    #[test]
    fn nearly_right_never_panics(text in "(at (most|least) )?[0-9.,]{0,6} ?(to|±|[a-zµΩ%A]{0,3})? ?[0-9.]{0,4} ?[mkuµ]?[AVΩs%]?( ±[0-9]{1,3} ?%?)?") {
        let _ = quantity::<Time>(&text);
        let _ = toleranced::<ElectricPotential>(&text);
        let _ = limits::<ElectricCurrent>(&text);
    }
}
