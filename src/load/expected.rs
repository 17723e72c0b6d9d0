//! The current to expect from a circuit, and what its window is made of.
//!
//! Every input of the closed form may lie anywhere in its range, so the window's ends are the true
//! extremes over all of them ([`super::corners`]): a worst case, not a statistical one.

use super::circuit::Circuit;
use super::corners::{Circumstances, End};
use super::fed::Fed;
use super::input::Input;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricCurrent, ElectricPotential, Time};

/// A step of an input without a range, for its sensitivity, as a share of its value.
const STEP: f64 = 1e-4;

/// The expected current, and where its window comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Expectation {
    /// The current with its window.
    pub current: Toleranced<ElectricCurrent>,
    /// What the window is made of: the voltage first, then the resistance on the way, then the
    /// circuit's own inputs.
    pub contributions: Vec<Contribution>,
}

/// What one input has to do with the window.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// The input and its range. With several loads on one clamp, `part` says whose it is.
    pub input: Input,
    /// Place of the load among several in parallel, from 1.
    pub part: Option<usize>,
    /// Amperes for each unit of the input, over its range, all others nominal.
    pub sensitivity: f64,
    /// The value with which it makes the lowest current.
    pub at_lowest: f64,
    /// The value with which it makes the highest current.
    pub at_highest: f64,
    /// Its part in the way from the nominal current down to the lowest one, in amperes. Those of
    /// all inputs add up to the whole way.
    pub below_a: f64,
    /// The same up to the highest one.
    pub above_a: f64,
    /// Its share of the window, 0 to 1.
    pub share: f64,
}

/// The current of a circuit at a voltage across it, `after` it was switched on: nominal, lowest and
/// highest.
pub fn expected_current(
    circuit: &Circuit,
    voltage: Toleranced<ElectricPotential>,
    after: Time,
) -> Toleranced<ElectricCurrent> {
    window(circuit, &Fed::directly(voltage), after)
}

/// The current of a circuit once it has settled.
pub fn settled_current(
    circuit: &Circuit,
    voltage: Toleranced<ElectricPotential>,
) -> Toleranced<ElectricCurrent> {
    expected_current(circuit, voltage, Time::from_si(f64::INFINITY))
}

/// The current of a circuit behind a resistance: nominal, lowest and highest. An infinite `after`
/// means the settled current.
pub fn window(circuit: &Circuit, fed: &Fed, after: Time) -> Toleranced<ElectricCurrent> {
    let all = circumstances(circuit, fed, after);
    let [nominal, lower, upper] = [
        all.current(&all.nominal()),
        all.extreme_current(End::Lowest),
        all.extreme_current(End::Highest),
    ]
    .map(ElectricCurrent::from_si);
    Toleranced { nominal, lower, upper }
}

/// The same as [`window`], with what it is made of.
///
/// The way from the nominal current to an end of the window leads through the inputs, one after the
/// other, from their nominal values to those of the corner. What each adds depends on the order:
/// given is the mean over the order of the inputs and its reverse, so that the parts add up to the
/// whole way.
pub fn explained(circuit: &Circuit, fed: &Fed, after: Time) -> Expectation {
    let all = circumstances(circuit, fed, after);
    let nominal = all.nominal();
    let (lowest, at_lowest) = all.extreme(End::Lowest);
    let (highest, at_highest) = all.extreme(End::Highest);
    let below = ways(&all, &at_lowest);
    let above = ways(&all, &at_highest);
    let whole = highest - lowest;
    let contributions = all
        .inputs()
        .iter()
        .zip(parts_of(circuit, &all))
        .enumerate()
        .map(|(i, (input, part))| Contribution {
            input: input.clone(),
            part,
            sensitivity: sensitivity(&all, i),
            at_lowest: at_lowest[i],
            at_highest: at_highest[i],
            // No negative zeros for people to read.
            below_a: 0.0 - below[i],
            above_a: 0.0 + above[i],
            share: if whole > 0.0 { (above[i] - below[i]) / whole } else { 0.0 },
        })
        .collect();
    let [nominal, lower, upper] =
        [all.current(&nominal), lowest, highest].map(ElectricCurrent::from_si);
    Expectation { current: Toleranced { nominal, lower, upper }, contributions }
}

fn circumstances<'c>(circuit: &'c Circuit, fed: &Fed, after: Time) -> Circumstances<'c> {
    let voltage = Input::toleranced("voltage", "V", fed.voltage);
    let way = Input::toleranced("resistance on the way", "ohm", fed.way);
    Circumstances::new(circuit, voltage, way, after.si())
}

/// What each input adds on the way from the nominal values to a corner.
fn ways(all: &Circumstances<'_>, corner: &[f64]) -> Vec<f64> {
    let mut added = vec![0.0; corner.len()];
    let forth: Vec<usize> = (0..corner.len()).collect();
    let back: Vec<usize> = forth.iter().rev().copied().collect();
    for order in [forth, back] {
        let mut x = all.nominal();
        let mut before = all.current(&x);
        for i in order {
            if x[i] == corner[i] {
                continue;
            }
            x[i] = corner[i];
            let now = all.current(&x);
            added[i] += 0.5 * (now - before);
            before = now;
        }
    }
    added
}

/// Amperes for each unit of an input.
fn sensitivity(all: &Circumstances<'_>, i: usize) -> f64 {
    let input = &all.inputs()[i];
    let (mut from, mut to) = (input.lower, input.upper);
    if from == to {
        let step = STEP * input.nominal.abs().max(STEP);
        (from, to) = (input.nominal - step, input.nominal + step);
    }
    let at = |value: f64| {
        let mut x = all.nominal();
        x[i] = value;
        all.current(&x)
    };
    (at(to) - at(from)) / (to - from)
}

/// Whose each input is: voltage and way are everybody's.
fn parts_of(circuit: &Circuit, all: &Circumstances<'_>) -> Vec<Option<usize>> {
    let several = circuit.parts.len() > 1;
    let mut parts = vec![None; 2];
    for (at, count) in all.inputs_of_parts().enumerate() {
        parts.extend(std::iter::repeat_n(several.then_some(at + 1), count));
    }
    parts
}

#[cfg(test)]
mod tests;
