//! The jig's own loads.

use super::sheet::{Circuit, Load, LoadSheet};
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use core::array;
use uom::si::f64::{ElectricPotential, ElectricalResistance, Time};

/// What the jig has fitted: a resistor of 22 Ω ±5 % at each clamp, on its own load supply of
/// 16 V ±5 %. That makes 0.73 A, enough to show a burnt contact as a voltage drop, and 11.6 W, so
/// the jig limits the time: 20 s on, 20 s rest.
pub fn jig_loads() -> LoadSheet {
    let clamps = array::from_fn(|_| {
        Some(Load {
            name: "jig load".to_owned(),
            circuit: Circuit::Resistor { resistance: percent::<ElectricalResistance>(22.0, 5.0) },
            on_time: Some(Time::from_si(20.0)),
            rest: Some(Time::from_si(20.0)),
        })
    });
    let supply = percent::<ElectricPotential>(16.0, 5.0);
    LoadSheet { title: "the jig's own loads".to_owned(), supply, clamps }
}

fn percent<Q: Units>(nominal: f64, percent: f64) -> Toleranced<Q> {
    let at = |share: f64| Q::from_si(nominal * (1.0 + share / 100.0));
    Toleranced { nominal: at(0.0), lower: at(-percent), upper: at(percent) }
}
