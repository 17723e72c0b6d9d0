//! How a run ended.

use super::suspects::Suspects;
use crate::judge::reading::{Blame, Verdict};
use crate::judge::run_risk::RunRisk;
use crate::quantity::origin::Origin;
use crate::signal::target::Format;

/// How a run ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Ending {
    /// Every step was carried out.
    Complete,
    /// What was read forbids to go on, or makes it useless (a short before power, a module that answers
    /// nowhere): one clear sentence.
    EndedEarly(String),
    /// Stopped by the operator.
    Stopped,
    /// The bench failed: one clear sentence.
    BenchTrouble(String),
    /// All was carried out and read, but the record could not be finished: one clear sentence.
    Unrecorded(String),
}

/// A finished run.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// How it ended.
    pub ending: Ending,
    /// `fail` if a reading fails, else `indeterminate` if one is, else `pass`. Only of a complete
    /// run; a run that was cut short is at best `indeterminate`.
    pub verdict: Verdict,
    /// Whose fault, taken over all readings, for a run that does not pass.
    pub blame: Option<Blame>,
    /// What is suspected, where somebody has looked into it.
    pub suspects: Option<Suspects>,
    /// How many readings.
    pub readings: usize,
    /// How many of them fail.
    pub failed: usize,
    /// How many of them are indeterminate.
    pub indeterminate: usize,
    /// How likely its verdicts are wrong.
    pub risk: RunRisk,
    /// Where the module was seen to answer as it was set to begin with; `None`: nowhere, or nobody
    /// asked.
    pub answers_at: Option<AnswersAt>,
    /// The sheet of the kind that it was found to be of, where that was looked for.
    pub kind_found: Option<KindFound>,
}

/// A kind of module, and its sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KindFound {
    /// The kind.
    pub kind: String,
    /// Its sheet.
    pub sheet: Origin,
}

/// Where a module answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AnswersAt {
    /// The command format.
    pub format: Format,
    /// Its first address.
    pub address: u16,
}
