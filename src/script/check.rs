//! What would fail at run time, found before the feed is ever on.
//!
//! [`check`] walks a plan as the bench would carry it out and keeps track of what it knows.
//! [`against_jig`] says what a given jig cannot do.

use super::actions::Action;
use super::actions::foreseen::Bench;
use super::actions::plan::{Plan, Step};
use super::actions::planned::planned;
use super::small_loads::small_loads;
use super::steps::Script;
use super::terms::LoadChoice;
use crate::quantity::located::Located;
use crate::signal::target::Clamp;

pub use super::finding::{Finding, Gravity};
pub use super::jig_abilities::JigAbilities;

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

/// Finds what is wrong with a plan on any jig.
pub fn check(plan: &Plan) -> Vec<Finding> {
    let mut bench = Bench::new(plan);
    for step in &plan.steps {
        bench.begin(step);
        planned(&step.action).check(&mut bench);
        bench.end_step();
    }
    bench.end();
    each_once(bench.into_findings())
}

/// Finds what a jig cannot do of a plan.
pub fn against_jig(plan: &Plan, jig: &JigAbilities) -> Vec<Finding> {
    let of_step = |step: &Step| {
        let (line, name) = (step.line, step.name.clone());
        let gravity = Gravity::Error;
        let found = planned(&step.action).beyond(plan, jig).into_iter();
        found.map(move |message| Finding { gravity, line, step: name.clone(), message })
    };
    each_once(plan.steps.iter().flat_map(of_step).collect())
}

/// Which real loads of a plan draw so little that the jig cannot tell by their current whether a contact is
/// closed: a sentence for each, with what tells it instead.
pub fn told_by_voltage(plan: &Plan, jig: &JigAbilities) -> Vec<String> {
    let connected = plan.steps.iter().filter_map(|step| match &step.action {
        Action::Loads(loads) if loads.choice == LoadChoice::Real => Some(&loads.clamps),
        _ => None,
    });
    let mut clamps: Vec<Clamp> = connected.flatten().copied().collect();
    clamps.sort_unstable_by_key(|clamp| clamp.index());
    clamps.dedup();
    let Some(sheet) = plan.loads.as_ref() else { return Vec::new() };
    small_loads(sheet, &clamps, |clamp| jig.clamp_offset_a[clamp.index()])
}

/// Each fault of one line once, however often the line is repeated.
fn each_once(mut findings: Vec<Finding>) -> Vec<Finding> {
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
