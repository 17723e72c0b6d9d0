//! What a jig's load supply stands, and the jig's own loads.

use super::circuit::Circuit;
use super::sheet::{Load, LoadSheet};
use crate::quantity::origin::Origin;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use core::array;
use uom::si::f64::{ElectricPotential, ElectricalResistance, Time};

/// What shunt, switch and leads of one clamp may add up to, in ohms (the bench's wiring: see its
/// description).
pub const PATH_OHM: f64 = 0.25;

/// The fast cut-off of a load supply lies here or higher, in amperes (`docs/bench.md`).
pub const CUT_OFF_A: f64 = 8.0;
/// More than this on average over 0.1 s is an overload, in amperes (`docs/wire-language.md`).
pub const OVERLOAD_A: f64 = 4.0;

/// What the plans of the jig have fitted: 22 Ω ±1 % at each clamp, on a load supply of 12 V ±5 %.
/// That makes 0.55 A, enough to show a burnt contact as a voltage drop.
///
/// A jig at hand states its own resistances; see [`jig_loads_of`].
pub fn jig_loads() -> LoadSheet {
    jig_loads_of([planned_resistance(); 8])
}

/// The resistance of each of them.
pub fn planned_resistance() -> Toleranced<ElectricalResistance> {
    percent(22.0, 1.0)
}

/// The jig's loads with the resistances that a jig states of itself, in clamp order.
///
/// Each takes 6.5 W in a small space, so the jig limits the time: 20 s on, 20 s rest.
pub fn jig_loads_of(resistances: [Toleranced<ElectricalResistance>; 8]) -> LoadSheet {
    let clamps = array::from_fn(|i| {
        Some(Load {
            name: "jig load".to_owned(),
            circuit: Circuit::resistor(resistances[i]),
            on_time: Some(Time::from_si(20.0)),
            rest: Some(Time::from_si(20.0)),
        })
    });
    let supply = percent::<ElectricPotential>(12.0, 5.0);
    LoadSheet {
        origin: Origin::default(),
        title: "the jig's own loads".to_owned(),
        supply,
        sample: None,
        clamps,
    }
}

fn percent<Q: Units>(nominal: f64, percent: f64) -> Toleranced<Q> {
    let at = |share: f64| Q::from_si(nominal * (1.0 + share / 100.0));
    Toleranced { nominal: at(0.0), lower: at(-percent), upper: at(percent) }
}
