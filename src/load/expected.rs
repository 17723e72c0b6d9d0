//! The current to expect from a circuit, and what its window is made of.
//!
//! Every input of the closed form may lie anywhere in its range, so the window's ends are found at
//! the corners: a worst case, not a statistical one.

use super::model::{self, Input};
use super::sheet::Circuit;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricCurrent, ElectricPotential, Time};

/// How often the inputs are gone through for a corner: whichever end one of them is best at may
/// depend on another.
const SWEEPS: usize = 2;

/// A step of an input without a range, for its sensitivity, as a share of its value.
const STEP: f64 = 1e-4;

/// The expected current, and where its window comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Expectation {
    /// The current with its window.
    pub current: Toleranced<ElectricCurrent>,
    /// What the window is made of: the voltage first, then the circuit's own inputs.
    pub contributions: Vec<Contribution>,
}

/// What one input has to do with the window.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// The input and its range. With several loads on one clamp, `part` says whose it is.
    pub input: Input,
    /// Place of the load among several in parallel, from 1.
    pub part: Option<usize>,
    /// Amperes for each unit of the input, over its range.
    pub sensitivity: f64,
    /// How far the input alone takes the current below the nominal one, in amperes.
    pub below_a: f64,
    /// How far it alone takes the current above the nominal one, in amperes.
    pub above_a: f64,
    /// Its share of what all inputs do one by one, 0 to 1.
    pub share: f64,
}

/// The current of a circuit at a voltage across it, `after` it was switched on: nominal, lowest and
/// highest.
pub fn expected_current(
    circuit: &Circuit,
    voltage: Toleranced<ElectricPotential>,
    after: Time,
) -> Toleranced<ElectricCurrent> {
    Model::new(circuit, voltage, after).window()
}

/// The current of a circuit once it has settled.
pub fn settled_current(
    circuit: &Circuit,
    voltage: Toleranced<ElectricPotential>,
) -> Toleranced<ElectricCurrent> {
    expected_current(circuit, voltage, Time::from_si(f64::INFINITY))
}

/// The same as [`expected_current`], with what its window is made of. An infinite `after` means
/// the settled current.
pub fn explained(
    circuit: &Circuit,
    voltage: Toleranced<ElectricPotential>,
    after: Time,
) -> Expectation {
    let model = Model::new(circuit, voltage, after);
    Expectation { current: model.window(), contributions: model.contributions() }
}

/// From 10 % to 90 % of the final current of a coil that is switched onto a constant voltage: ln 9
/// time constants (IEEE Std 181: transition duration of a single pole). `None` for what is no coil.
pub fn rise_time(circuit: &Circuit) -> Option<Toleranced<Time>> {
    let Circuit::Coil { resistance, inductance, temperature } = circuit else { return None };
    let at = |henry: f64, stated: f64, temperature: f64| {
        Time::from_si(9f64.ln() * henry / model::coil_ohm(stated, temperature))
    };
    Some(Toleranced {
        nominal: at(inductance.nominal.si(), resistance.nominal.si(), temperature.nominal.si()),
        lower: at(inductance.lower.si(), resistance.upper.si(), temperature.upper.si()),
        upper: at(inductance.upper.si(), resistance.lower.si(), temperature.lower.si()),
    })
}

/// A circuit at a voltage and a time, as a function of its inputs; the voltage is the first one.
struct Model<'c> {
    circuit: &'c Circuit,
    inputs: Vec<Input>,
    after: f64,
}

impl<'c> Model<'c> {
    fn new(circuit: &'c Circuit, voltage: Toleranced<ElectricPotential>, after: Time) -> Self {
        let mut inputs = vec![Input::toleranced("voltage", "V", voltage)];
        model::inputs(circuit, &mut inputs);
        Model { circuit, inputs, after: after.si() }
    }

    fn current(&self, x: &[f64]) -> f64 {
        let (voltage, mut rest) = x.split_first().map_or((0.0, x), |(&v, rest)| (v, rest));
        model::current(self.circuit, &mut rest, voltage.max(0.0), self.after)
    }

    fn nominal(&self) -> Vec<f64> {
        self.inputs.iter().map(|input| input.nominal).collect()
    }

    /// The lowest (`sign` −1) or highest (1) current within the ranges.
    fn corner(&self, sign: f64) -> f64 {
        let mut x = self.nominal();
        let mut best = self.current(&x);
        for _ in 0..SWEEPS {
            let free = |(_, input): &(usize, &Input)| input.lower < input.upper;
            for (i, input) in self.inputs.iter().enumerate().filter(free) {
                for end in [input.lower, input.upper] {
                    let before = std::mem::replace(&mut x[i], end);
                    let found = self.current(&x);
                    if sign * found > sign * best {
                        best = found;
                    } else {
                        x[i] = before;
                    }
                }
            }
        }
        best
    }

    fn window(&self) -> Toleranced<ElectricCurrent> {
        Toleranced {
            nominal: ElectricCurrent::from_si(self.current(&self.nominal())),
            lower: ElectricCurrent::from_si(self.corner(-1.0)),
            upper: ElectricCurrent::from_si(self.corner(1.0)),
        }
    }

    fn contributions(&self) -> Vec<Contribution> {
        let nominal = self.nominal();
        let centre = self.current(&nominal);
        let mut list: Vec<Contribution> = Vec::new();
        for ((i, input), part) in self.inputs.iter().enumerate().zip(parts_of(self.circuit)) {
            let at = |value: f64| {
                let mut x = nominal.clone();
                x[i] = value;
                self.current(&x)
            };
            let ends = [at(input.lower), at(input.upper)];
            let (mut from, mut to) = (input.lower, input.upper);
            if from == to {
                let step = STEP * input.nominal.abs().max(STEP);
                (from, to) = (input.nominal - step, input.nominal + step);
            }
            list.push(Contribution {
                input: input.clone(),
                part,
                sensitivity: (at(to) - at(from)) / (to - from),
                below_a: ends.iter().fold(0.0, |most: f64, end| most.max(centre - end)),
                above_a: ends.iter().fold(0.0, |most: f64, end| most.max(end - centre)),
                share: 0.0,
            });
        }
        let whole: f64 = list.iter().map(|c| c.below_a + c.above_a).sum();
        for c in &mut list {
            c.share = if whole > 0.0 { (c.below_a + c.above_a) / whole } else { 0.0 };
        }
        list
    }
}

/// Whose each input is: the voltage is everybody's.
fn parts_of(circuit: &Circuit) -> Vec<Option<usize>> {
    let count = |circuit: &Circuit| {
        let mut inputs = Vec::new();
        model::inputs(circuit, &mut inputs);
        inputs.len()
    };
    let mut parts = vec![None];
    match circuit {
        Circuit::Parallel(all) => {
            for (at, part) in all.iter().enumerate() {
                parts.extend(std::iter::repeat_n(Some(at + 1), count(part)));
            }
        }
        single => parts.extend(std::iter::repeat_n(None, count(single))),
    }
    parts
}

#[cfg(test)]
mod tests;
