//! The lowest and the highest current of a circuit whose inputs may each lie anywhere in its range.
//!
//! With all others held, the current of every part rises or falls in each of its inputs all the
//! way (which of the two may depend on the others: a motor's exponent does nothing at the voltage
//! at which the motor is stated). So the extremes lie at corners of the ranges, and every corner
//! is looked at. Parts in parallel share nothing but the voltage across them: at each voltage
//! their extremes add up, and no combination across the parts is needed.
//!
//! One thing may turn back between its ends: a lamp that warms up draws more on a higher voltage
//! at first and less soon after. While a current is still moving, the voltage is therefore looked
//! at along its whole range.

use super::circuit::Circuit;
use super::input::Input;
use super::kind::{At, Kind};
use super::kinds::Part;

/// Places along the range of the voltage for a current that still moves.
const ALONG: u32 = 64;

/// Steps of the search for the current behind a resistance; each doubles the digits near the end.
const STEPS: usize = 80;

/// Currents that differ by a smaller share are the same.
const SAME: f64 = 1e-12;

/// Which end is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The lowest current.
    Lowest,
    /// The highest current.
    Highest,
}

/// A circuit behind a resistance, `after` seconds after it was switched on.
///
/// Its inputs are the supply's voltage, the resistance on the way, and those of the circuit's parts
/// in their order.
#[derive(Clone)]
pub struct Circumstances<'c> {
    parts: Vec<OnePart<'c>>,
    inputs: Vec<Input>,
    after: f64,
}

/// A part, how many inputs it has, and every combination of their ends: those are looked at again at each
/// step of a search.
#[derive(Clone)]
struct OnePart<'c> {
    kind: &'c dyn Kind,
    inputs: usize,
    corners: Vec<Vec<f64>>,
}

/// The place of the voltage among the inputs.
pub const VOLTAGE: usize = 0;
/// The place of the resistance on the way.
pub const WAY: usize = 1;
/// How many inputs stand before those of the parts.
const COMMON: usize = 2;

impl<'c> Circumstances<'c> {
    /// A circuit on a voltage in volts behind a resistance in ohms.
    pub fn new(circuit: &'c Circuit, voltage: Input, way: Input, after: f64) -> Self {
        let mut inputs = vec![voltage, way];
        let mut parts = Vec::new();
        for kind in circuit.parts.iter().map(Part::kind) {
            let own = kind.inputs();
            parts.push(OnePart { kind, inputs: own.len(), corners: corners(&own) });
            inputs.extend(own);
        }
        Circumstances { parts, inputs, after }
    }

    /// All inputs with their ranges.
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// How many inputs each part has, in order.
    pub fn inputs_of_parts(&self) -> impl Iterator<Item = usize> + '_ {
        self.parts.iter().map(|part| part.inputs)
    }

    /// The nominal value of each input.
    pub fn nominal(&self) -> Vec<f64> {
        self.inputs.iter().map(|input| input.nominal).collect()
    }

    /// The current for a value of each input, amperes.
    pub fn current(&self, x: &[f64]) -> f64 {
        let (common, own) = x.split_at(COMMON.min(x.len()));
        let &[volt, ohm] = common else { return 0.0 };
        behind(volt, ohm, |across| {
            let mut rest = own;
            let mut sum = 0.0;
            for part in &self.parts {
                let (x, others) = rest.split_at(part.inputs.min(rest.len()));
                rest = others;
                sum += self.part(part, x, across, ohm);
            }
            sum
        })
    }

    /// The extreme current, and the corner at which it is found.
    pub fn extreme(&self, end: End) -> (f64, Vec<f64>) {
        let Some((current, [volt, ohm])) = self.extreme_supply(end) else {
            return (0.0, self.nominal());
        };
        // The corner of the parts goes with the voltage across them.
        let mut x = vec![volt, ohm];
        self.parts_at(volt - ohm * current, ohm, end, Some(&mut x));
        self.leave_what_does_nothing(&mut x, current);
        (current, x)
    }

    /// The extreme current alone.
    pub fn extreme_current(&self, end: End) -> f64 {
        self.extreme_supply(end).map_or(0.0, |(current, _)| current)
    }

    /// The extreme current, and at which voltage and behind which resistance it flows.
    fn extreme_supply(&self, end: End) -> Option<(f64, [f64; 2])> {
        let mut best: Option<(f64, [f64; 2])> = None;
        for volt in self.voltages(&self.inputs[VOLTAGE]) {
            for ohm in ends(&self.inputs[WAY]) {
                let current = behind(volt, ohm, |across| self.parts_at(across, ohm, end, None));
                if best.is_none_or(|(so_far, _)| end.beats(current, so_far)) {
                    best = Some((current, [volt, ohm]));
                }
            }
        }
        best
    }

    /// An input of a corner that might as well be nominal is.
    fn leave_what_does_nothing(&self, x: &mut [f64], current: f64) {
        for i in 0..x.len() {
            let end = std::mem::replace(&mut x[i], self.inputs[i].nominal);
            if (self.current(x) / current - 1.0).abs() > SAME {
                x[i] = end;
            }
        }
    }

    /// The sum of the parts' extremes at a voltage across them; writes down where they are.
    fn parts_at(&self, across: f64, way: f64, end: End, mut corner: Option<&mut Vec<f64>>) -> f64 {
        let mut sum = 0.0;
        for part in &self.parts {
            let mut best: Option<(f64, &[f64])> = None;
            for x in &part.corners {
                let current = self.part(part, x, across, way);
                if best.is_none_or(|(so_far, _)| end.beats(current, so_far)) {
                    best = Some((current, x));
                }
            }
            let Some((current, x)) = best else { continue };
            sum += current;
            if let Some(corner) = corner.as_deref_mut() {
                corner.extend(x);
            }
        }
        sum
    }

    fn part(&self, part: &OnePart<'_>, x: &[f64], across: f64, way: f64) -> f64 {
        part.kind.current(x, At { across_v: across.max(0.0), after_s: self.after, way_ohm: way })
    }

    fn voltages(&self, volt: &Input) -> Vec<f64> {
        if self.after.is_infinite()
            || volt.lower >= volt.upper
            || !self.parts.iter().any(|part| part.kind.turns_back())
        {
            return ends(volt).collect();
        }
        let at = |i| volt.lower + (volt.upper - volt.lower) * f64::from(i) / f64::from(ALONG);
        (0..=ALONG).map(at).collect()
    }
}

impl End {
    fn beats(self, current: f64, so_far: f64) -> bool {
        match self {
            End::Lowest => current < so_far,
            End::Highest => current > so_far,
        }
    }
}

/// Both ends of an input's range.
fn ends(input: &Input) -> impl Iterator<Item = f64> + use<> {
    let count = if input.lower < input.upper { 2 } else { 1 };
    [input.lower, input.upper].into_iter().take(count)
}

/// Every combination of the inputs' ends.
fn corners(inputs: &[Input]) -> Vec<Vec<f64>> {
    let mut all = vec![Vec::with_capacity(inputs.len())];
    for input in inputs {
        all = all
            .iter()
            .flat_map(|x| {
                ends(input).map(move |end| {
                    let mut x = x.clone();
                    x.push(end);
                    x
                })
            })
            .collect();
    }
    all
}

/// The current through a resistance in ohms and what lies behind it, whose current over the voltage
/// across it is `of`.
fn behind(volt: f64, ohm: f64, of: impl Fn(f64) -> f64) -> f64 {
    let direct = of(volt.max(0.0));
    if ohm <= 0.0 || volt <= 0.0 {
        return direct;
    }
    // With more current less voltage is left: what is missing falls from `of(volt)` to below zero.
    // False position, with the stale end halved (the Illinois rule).
    let missing = |i: f64| of(volt - ohm * i) - i;
    let (mut low, mut at_low) = (0.0, direct);
    let (mut high, mut at_high) = (volt / ohm, -volt / ohm);
    let mut kept = 0;
    for _ in 0..STEPS {
        let i = (low * at_high - high * at_low) / (at_high - at_low);
        let found = missing(i);
        if found > 0.0 {
            (low, at_low) = (i, found);
            at_high *= if kept > 0 { 0.5 } else { 1.0 };
            kept = 1;
        } else {
            (high, at_high) = (i, found);
            at_low *= if kept < 0 { 0.5 } else { 1.0 };
            kept = -1;
        }
        if found.abs() <= 1e-14 * i || high - low <= 1e-15 * high {
            return i;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests;
