//! What every kind of load on the bench says of itself.

use super::element::Element;

/// What becomes of a value when a load is to take so many times its current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scales {
    /// It stays.
    Stays,
    /// It becomes so many times what it was.
    Grows,
    /// It is divided by as much.
    Shrinks,
}

/// A kind of load.
#[derive(Debug)]
pub struct LoadKind {
    /// Its name.
    pub name: &'static str,
    /// Its values, SI without prefix, by their names, and what becomes of each when the load is to take
    /// more current.
    pub values: &'static [(&'static str, Scales)],
    /// Makes its circuit from the values, in their order.
    pub make: fn(&[f64]) -> Box<dyn Element>,
}

impl PartialEq for LoadKind {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}
