//! When a load's current may be judged as steady.

use super::circuit::Circuit;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricPotential, Time};

pub use super::kind::SETTLED_WITHIN;

/// How long after switching on a supply the current stays away from its final value by more than
/// [`SETTLED_WITHIN`] at most.
pub fn settle_time(circuit: &Circuit, supply: Toleranced<ElectricPotential>) -> Time {
    let each = circuit.parts.iter().map(|part| part.kind().settle_s(supply));
    Time::from_si(each.fold(0.0, f64::max))
}
