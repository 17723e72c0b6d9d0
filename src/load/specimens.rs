//! Loads of the tests in this room, and values as people write them.

use super::circuit::Circuit;
use super::kinds::{Coil, Lamp, Led, Motor, Part};
use super::marking;
use crate::quantity::parse;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;

/// A value with its tolerance.
pub fn t<Q: Units>(text: &str) -> Toleranced<Q> {
    parse::toleranced(text).unwrap()
}

/// A value.
pub fn q<Q: Units>(text: &str) -> Q {
    parse::quantity(text).unwrap()
}

/// A value that is what it is.
pub fn exactly<Q: Units>(si: f64) -> Toleranced<Q> {
    let value = Q::from_si(si);
    Toleranced { nominal: value, lower: value, upper: value }
}

pub fn resistor(text: &str) -> Circuit {
    Circuit::resistor(t(text))
}

pub fn led() -> Circuit {
    let (forward, series) = (t("2 V ±10 %"), t("1.5 kohm ±5 %"));
    Part::Led(Led { forward, at_current: q("10 mA"), series }).into()
}

/// A relay of 360 ohms that may be as warm as a cupboard in summer.
pub fn coil(inductance: &str) -> Circuit {
    Part::Coil(Coil {
        resistance: t("360 ohm"),
        inductance: t(inductance),
        temperature: Toleranced { nominal: q("20 °C"), lower: q("10 °C"), upper: q("45 °C") },
        has_diode: true,
    })
    .into()
}

/// A lamp of 150 mA.
pub fn lamp(rated_voltage: &str, ratio: &str, warm_up: &str) -> Circuit {
    Part::Lamp(Lamp {
        rated_voltage: q(rated_voltage),
        rated_current: t("150 mA ±10 %"),
        inrush_ratio: marking::ratio(ratio).unwrap(),
        warm_up: t(warm_up),
    })
    .into()
}

/// A motor of 12 V that starts with four times what it runs with.
pub fn motor() -> Circuit {
    Part::Motor(Motor {
        start_current: t("600 mA ±15 %"),
        run_current: t("150 mA ±20 %"),
        at_voltage: q("12 V"),
        run_up: t("25 ms"),
    })
    .into()
}

/// Several on one clamp.
pub fn parallel<const N: usize>(all: [Circuit; N]) -> Circuit {
    Circuit { parts: all.into_iter().flat_map(|one| one.parts).collect() }
}
