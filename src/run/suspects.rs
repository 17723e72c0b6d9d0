//! What is suspected of a run that does not pass, each with its probability.

use crate::blame::Blame;
use serde::{Deserialize, Serialize};

/// Something that may be the matter.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Suspect {
    /// What it is: a fault's name, another kind of module, or that nothing is wrong.
    pub cause: String,
    /// Where it sits; `None` where that says nothing.
    pub place: Option<String>,
    /// Whose fault it is.
    pub class: Blame,
    /// Its probability.
    pub probability: f64,
    /// How severe it is, where that can be told.
    pub severity: Option<Severity>,
}

/// How severe.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Severity {
    /// The likeliest.
    pub value: f64,
    /// With 95 in 100 it is no less.
    pub from: f64,
    /// And no more.
    pub to: f64,
    /// The unit.
    pub unit: String,
}

/// All that is suspected.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Suspects {
    /// The likeliest first; those that nobody would name are left out.
    pub all: Vec<Suspect>,
    /// The probability that it is none of those that were tried.
    pub none: f64,
    /// How often a run with the likeliest would fit as badly as this one.
    pub fit: f64,
    /// How many simulated runs it was told by.
    pub runs: usize,
    /// The number that they were drawn from.
    pub seed: u64,
    /// What would settle it, where those that lead are not of one class.
    pub settled_by: Option<String>,
}
