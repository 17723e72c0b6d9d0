//! What would fail at run time, found before the feed is ever on.
//!
//! [`check`] walks a plan as the bench would carry it out and keeps track of what it knows: is the
//! feed on, where is the slider, where does each output stand, which loads hang where, how warm are
//! they. [`against_jig`] says what a given jig cannot do.

mod duty;
mod jig;
mod loads;
mod outputs;
mod readings;
mod state;

pub use jig::{JigAbilities, against_jig};

use super::plan::Plan;
use super::steps::Script;
use crate::quantity::located::Located;
use state::Bench;

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gravity {
    /// Works, but most likely not as meant.
    Warning,
    /// Cannot work: the plan is not carried out.
    Error,
}

/// Something that is wrong with a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How bad it is.
    pub gravity: Gravity,
    /// The line of the script; 0 where the whole script is meant.
    pub line: usize,
    /// The step; empty where the whole script is meant.
    pub step: String,
    /// A sentence.
    pub message: String,
}

impl Finding {
    /// The finding at its place in the script's file.
    pub fn located(&self, script: &Script) -> Located {
        let message = match self.gravity {
            Gravity::Error => self.message.clone(),
            Gravity::Warning => format!("warning: {}", self.message),
        };
        if self.line == 0 {
            return Located { file: script.source.name().to_owned(), place: None, message };
        }
        script.source.error_on_line(self.line, message)
    }
}

/// Finds what is wrong with a plan on any jig. Each fault of one line is told once, however often
/// the line is repeated.
pub fn check(plan: &Plan) -> Vec<Finding> {
    let mut bench = Bench::new(plan);
    for step in &plan.steps {
        bench.step(step);
    }
    bench.end();
    let mut findings = bench.into_findings();
    let mut told: Vec<(usize, String)> = Vec::new();
    findings.retain(|f| {
        let key = (f.line, f.message.clone());
        let new = !told.contains(&key);
        told.push(key);
        new
    });
    findings
}

/// Whether a plan may be carried out: no finding is an error.
pub fn is_clean(findings: &[Finding]) -> bool {
    first_error(findings).is_none()
}

/// The first finding for which a plan may not be carried out.
pub fn first_error(findings: &[Finding]) -> Option<&Finding> {
    findings.iter().find(|f| f.gravity == Gravity::Error)
}

#[cfg(test)]
mod tests;
