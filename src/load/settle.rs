//! When a load's current may be judged as steady.

use super::circuit::Circuit;
use crate::quantity::unit::Units;
use uom::si::f64::Time;

pub use super::kind::SETTLED_WITHIN;

/// How long after switching on the current stays away from its final value by more than
/// [`SETTLED_WITHIN`], at the voltage that its sheet states.
pub fn settle_time(circuit: &Circuit) -> Time {
    let each = circuit.parts.iter().map(|part| part.kind().settle_s());
    Time::from_si(each.fold(0.0, f64::max))
}
