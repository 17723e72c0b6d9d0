//! Whose fault something is: the class of a fault on the simulated bench, and whom a reading that does
//! not pass points at.

use core::fmt;
use serde::{Deserialize, Serialize};

/// Whose fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Blame {
    /// The module itself.
    Module,
    /// A switch, slider or polarity that the user sets.
    Setting,
    /// A lead or clamp between jig and module.
    Lead,
    /// A load.
    Load,
    /// The jig.
    Jig,
    /// Cannot be told.
    Unsure,
}

impl Blame {
    /// The classes that faults are of.
    pub const CLASSES: [Blame; 5] =
        [Blame::Module, Blame::Setting, Blame::Lead, Blame::Load, Blame::Jig];
}

impl fmt::Display for Blame {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Blame::Module => "module",
            Blame::Setting => "setting",
            Blame::Lead => "lead",
            Blame::Load => "load",
            Blame::Jig => "jig",
            Blame::Unsure => "unsure",
        })
    }
}
