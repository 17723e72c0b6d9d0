//! The catalogue of faults. Each changes the electrics or the logic of the bench, never a reading.

mod catalogue;
mod jig;
mod lead;
mod load;
mod module;
mod setting;

use super::draw::Stream;
use super::parts::Parts;
pub use catalogue::CATALOGUE;
use rand::RngExt;

/// Whose fault it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Class {
    /// The module itself.
    Module,
    /// A switch, slider or polarity that the user sets.
    Setting,
    /// A lead or clamp between jig and module.
    Lead,
    /// A real load.
    Load,
    /// The jig.
    Jig,
}

impl core::fmt::Display for Class {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Class::Module => "module",
            Class::Setting => "setting",
            Class::Lead => "lead",
            Class::Load => "load",
            Class::Jig => "jig",
        })
    }
}

/// Where a fault is put.
pub(super) struct Site<'a> {
    pub parts: &'a mut Parts,
    pub severity: f64,
    /// The switches as they should be set.
    pub switches: u32,
    pub rng: &'a mut Stream,
}

impl Site<'_> {
    /// Whether a fault that is there or not is there.
    fn applies(&self) -> bool {
        self.severity >= 0.5
    }

    fn outputs(&self) -> usize {
        usize::from(self.parts.module.kind.outputs).clamp(1, 4)
    }

    /// An output of the module, by chance.
    fn output(&mut self) -> usize {
        let outputs = self.outputs();
        self.rng.random_range(0..outputs)
    }

    /// Two different outputs; `None` where there is just one.
    fn two_outputs(&mut self) -> Option<(usize, usize)> {
        let outputs = self.outputs();
        let k = self.output();
        let further = (outputs > 1).then(|| self.rng.random_range(1..outputs))?;
        Some((k, (k + further) % outputs))
    }

    /// A contact (and clamp) of the module, by chance.
    fn contact(&mut self) -> usize {
        2 * self.output() + self.rng.random_range(0..2)
    }

    /// So many different contacts (and clamps), by chance.
    fn contacts(&mut self, count: f64) -> Vec<usize> {
        let mut left: Vec<usize> = (0..2 * self.outputs()).collect();
        let count = (count.round().max(0.0) as usize).min(left.len());
        (0..count).map(|_| left.swap_remove(self.rng.random_range(0..left.len()))).collect()
    }

    /// One of several, by chance.
    fn one_of(&mut self, all: &[usize]) -> Option<usize> {
        (!all.is_empty()).then(|| all[self.rng.random_range(0..all.len())])
    }

    /// A switch (from 0) that counts for the address, by chance.
    fn address_switch(&mut self) -> u8 {
        let kind = &self.parts.module.kind;
        let all: Vec<usize> =
            (0..kind.switch_weights.len()).filter(|&i| kind.switch_weights[i] > 0).collect();
        self.one_of(&all).unwrap_or(0) as u8
    }
}

/// One fault of the catalogue.
pub struct Fault {
    /// Its name.
    pub name: &'static str,
    /// Whose fault it is.
    pub class: Class,
    /// Unit of the severity.
    pub unit: &'static str,
    /// Severity when none is given.
    pub default: f64,
    /// Least severity that can be asked for.
    pub minimum: f64,
    /// Greatest severity that can be asked for.
    pub maximum: f64,
    /// One line for people.
    pub about: &'static str,
    put: fn(&mut Site<'_>),
}

impl Fault {
    /// Puts the fault on the bench.
    pub(super) fn put(&self, parts: &mut Parts, severity: f64, switches: u32, rng: &mut Stream) {
        (self.put)(&mut Site { parts, severity, switches, rng });
    }
}

impl core::fmt::Debug for Fault {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.debug_struct("Fault").field("name", &self.name).field("class", &self.class).finish()
    }
}

impl PartialEq for Fault {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

/// The fault of that name.
pub fn find(name: &str) -> Option<&'static Fault> {
    CATALOGUE.iter().find(|f| f.name == name)
}
