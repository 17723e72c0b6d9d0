//! One thing that a current depends on.

use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;

/// An input of a closed form.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// What it is, in words.
    pub name: &'static str,
    /// Its unit, SI without prefix (temperatures in °C).
    pub unit: &'static str,
    /// The value that is taken for it.
    pub nominal: f64,
    /// The lowest that it may be.
    pub lower: f64,
    /// The highest that it may be.
    pub upper: f64,
}

impl Input {
    /// An input with a tolerance.
    pub fn toleranced<Q: Units>(name: &'static str, unit: &'static str, t: Toleranced<Q>) -> Self {
        let (nominal, lower, upper) = (t.nominal.si(), t.lower.si(), t.upper.si());
        Input { name, unit, nominal, lower, upper }
    }

    /// An input that no sheet states: its nominal value and its range are given by the closed form.
    pub fn of(name: &'static str, unit: &'static str, [nominal, lower, upper]: [f64; 3]) -> Self {
        Input { name, unit, nominal, lower, upper }
    }
}
