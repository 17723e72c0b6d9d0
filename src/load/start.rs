//! How a load begins: what its current does when it is switched on at rest.

use super::circuit::Circuit;
use super::expected::window;
use super::fed::Fed;
use super::kind::Begins;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricCurrent, Time};

/// What is to be expected of a load that is switched on at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// The first current, where it is larger than the settled one: the inrush of a cold lamp, the
    /// start current of a motor that stands.
    pub peak: Option<Limited<ElectricCurrent>>,
    /// Time in which half of that excess is gone.
    pub decay: Option<Limited<Time>>,
    /// 10 % to 90 % of the final current of a coil.
    pub rise: Option<Limited<Time>>,
    /// The share by which the first current may fall short of what it is from a load at rest.
    pub short_of: f64,
    /// How long it must have been off, to be at rest.
    pub rest: Time,
}

/// A value to expect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limited<Q> {
    /// With its window.
    pub value: Toleranced<Q>,
    /// Whether the sheet states a tolerance for it: of a value that is stated without one nobody
    /// knows how far it may be off.
    pub stated: bool,
}

/// How a circuit starts; `None` where there is nothing to see: resistors and diodes draw their
/// settled current at once, of a sample nothing is known, and of several moving loads on one clamp
/// the courses cannot be told apart.
pub fn start(circuit: &Circuit, fed: &Fed) -> Option<Start> {
    let first = window(circuit, fed, Time::from_si(0.0));
    let mut moving = circuit
        .parts
        .iter()
        .map(|part| part.kind().begins(fed, first))
        .filter(|begins| *begins != Begins::Settled);
    let only = moving.next().filter(|_| moving.next().is_none())?;
    match only {
        // The others' current hides how far it rises.
        Begins::Rises(_) if circuit.parts.len() > 1 => None,
        Begins::Rises(rise) => Some(Start {
            peak: None,
            decay: None,
            rise: Some(Limited { value: rise.time, stated: rise.stated }),
            short_of: 0.0,
            rest: rise.rest,
        }),
        Begins::Falls(fall) => {
            let settled = window(circuit, fed, Time::from_si(f64::INFINITY));
            if first.nominal <= settled.nominal {
                return None;
            }
            let lower = (1.0 - fall.short_of) * first.lower;
            Some(Start {
                peak: Some(Limited {
                    value: Toleranced { lower, ..first },
                    stated: fall.stated[0],
                }),
                decay: Some(Limited { value: fall.half, stated: fall.stated[1] }),
                rise: None,
                short_of: fall.short_of,
                rest: fall.rest,
            })
        }
        Begins::Settled | Begins::Unknown => None,
    }
}

#[cfg(test)]
mod tests;
