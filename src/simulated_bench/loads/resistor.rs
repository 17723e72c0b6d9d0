//! Resistor.

use super::element::{Affine, Memoryless};
use super::kind::{LoadKind, Scales::Shrinks};

/// The kind.
pub const KIND: LoadKind = LoadKind {
    name: "resistor",
    values: &[("resistance", Shrinks)],
    make: |values| Box::new(Resistor::new(values[0])),
};

/// No resistor is smaller, ohms.
const LEAST_OHM: f64 = 1e-3;

/// The resistor, by its conductance.
#[derive(Clone, Debug)]
pub struct Resistor {
    siemens: f64,
}

impl Resistor {
    /// A resistor of so many ohms.
    pub fn new(ohm: f64) -> Self {
        Resistor { siemens: 1.0 / ohm.max(LEAST_OHM) }
    }
}

impl Memoryless for Resistor {
    fn affine(&mut self, _: f64) -> Affine {
        Affine { g: self.siemens, i: 0.0 }
    }

    fn is_curved(&self) -> bool {
        false
    }
}
