//! What becomes of a module: from its tries and what people decided.
//!
//! The first failure is seated again. Rejected is only what fails twice in the same way, blamed on the module
//! both times. What contradicts itself is put on hold, until the settling script passes whole; if that fails
//! too, a person decides. A setting, a lead, a load or the jig is mended, and never counts against the module.

use super::decision::{Decision, What};
use super::tries::{Showed, Symptom, Try};
use crate::record::names::is_same_name;
use serde::Serialize;
use std::collections::BTreeSet;
use std::fmt;

/// What becomes of a module.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fate {
    /// Not tried yet.
    Waiting,
    /// To be seated again.
    ToRepeat,
    /// It can go into service.
    Accepted,
    /// Put aside.
    OnHold,
    /// It goes back.
    Rejected,
}

impl Fate {
    /// All of them.
    pub const ALL: [Fate; 5] =
        [Fate::Waiting, Fate::ToRepeat, Fate::Accepted, Fate::OnHold, Fate::Rejected];

    /// Whether nothing is left to be done on the bench.
    pub fn is_settled(self) -> bool {
        matches!(self, Fate::Accepted | Fate::OnHold | Fate::Rejected)
    }
}

impl fmt::Display for Fate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Fate::Waiting => "waiting",
            Fate::ToRepeat => "to repeat",
            Fate::Accepted => "accepted",
            Fate::OnHold => "on hold",
            Fate::Rejected => "rejected",
        })
    }
}

/// A module's fate, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ruling {
    /// What becomes of it.
    pub fate: Fate,
    /// Why, in a sentence without its full stop.
    pub reason: String,
    /// Runs that were struck, or came from a bench that failed its check.
    pub not_counted: BTreeSet<u32>,
    /// Runs after the lot was closed.
    pub checks: BTreeSet<u32>,
    /// Whether a person decided it.
    pub by_person: bool,
}

/// What is known of a module so far.
#[derive(Debug)]
struct Known {
    ruling: (Fate, String),
    by_person: bool,
    /// The failures that count, and whether the module was blamed.
    failures: Vec<(Symptom, bool)>,
    open: u32,
    /// The settling script has failed: only a person takes it off hold.
    needs_person: bool,
}

impl Known {
    fn nothing() -> Self {
        Known {
            ruling: (Fate::Waiting, "not tried yet".into()),
            by_person: false,
            failures: Vec::new(),
            open: 0,
            needs_person: false,
        }
    }

    fn now(&mut self, fate: Fate, reason: impl Into<String>) {
        self.ruling = (fate, reason.into());
    }
}

/// The fate of a module. Its tries are in the order of their numbers, the decisions in the order in which they
/// were made; those that are about other modules do no harm.
pub fn rule(serial: &str, tries: &[Try], decisions: &[Decision], settling_script: &str) -> Ruling {
    let own = |what: &What| what.serial().is_some_and(|s| is_same_name(s, serial));
    let mut not_counted = BTreeSet::new();
    let mut closed_after = None;
    for Decision { what, .. } in decisions {
        match what {
            What::Strike { run, .. } if own(what) => {
                not_counted.insert(*run);
            }
            What::BenchFailed { runs, .. } => {
                not_counted.extend(runs.get(serial).into_iter().flatten());
            }
            What::Close { last } => {
                closed_after = Some(last.get(serial).copied().unwrap_or(0));
            }
            _ => {}
        }
    }
    let is_check = |run: u32| closed_after.is_some_and(|last| run > last);
    let counted: Vec<&Try> =
        tries.iter().filter(|t| !not_counted.contains(&t.run) && !is_check(t.run)).collect();
    let mut made = decisions.iter().filter(|decision| own(&decision.what)).peekable();
    let mut known = Known::nothing();
    for one in counted {
        while let Some(decision) = made.next_if(|decision| after(&decision.what) < one.run) {
            decide(&mut known, decision);
        }
        if !known.by_person {
            tried(&mut known, one, settling_script);
        }
    }
    made.for_each(|decision| decide(&mut known, decision));
    let checks = tries.iter().map(|t| t.run).filter(|run| is_check(*run)).collect();
    let (fate, reason) = known.ruling;
    Ruling { fate, reason, not_counted, checks, by_person: known.by_person }
}

/// The run after which something was decided.
fn after(what: &What) -> u32 {
    match what {
        What::Hold { after, .. }
        | What::Release { after, .. }
        | What::Reject { after, .. }
        | What::Accept { after, .. } => *after,
        _ => 0,
    }
}

fn decide(known: &mut Known, Decision { by, reason, what, .. }: &Decision) {
    let fate = match what {
        What::Hold { .. } => Fate::OnHold,
        What::Reject { .. } => Fate::Rejected,
        What::Accept { .. } => Fate::Accepted,
        What::Release { .. } => {
            *known = Known::nothing();
            known.now(Fate::ToRepeat, format!("{by} released it: {reason}"));
            return;
        }
        _ => return,
    };
    known.by_person = true;
    known.now(fate, format!("{by} decided: {reason}"));
}

fn tried(known: &mut Known, one: &Try, settling_script: &str) {
    let run = one.run;
    if known.ruling.0 == Fate::OnHold {
        if known.needs_person || one.script != settling_script {
            return;
        }
        match &one.showed {
            Showed::Passes => {
                *known = Known::nothing();
                known.now(Fate::Accepted, format!("run {run} ({settling_script}) passes whole"));
            }
            Showed::AtFault(_) | Showed::Unsure(_) | Showed::Open => {
                known.needs_person = true;
                let why = format!("run {run} ({settling_script}) does not pass: a person decides");
                known.now(Fate::OnHold, why);
            }
            Showed::Elsewhere(_) | Showed::CutShort => {}
        }
        return;
    }
    match &one.showed {
        Showed::CutShort => {
            if known.ruling.0 == Fate::Waiting {
                known.now(Fate::Waiting, format!("run {run} did not come to its end"));
            }
        }
        Showed::Elsewhere(blame) => {
            if known.ruling.0 != Fate::Accepted && known.ruling.0 != Fate::Rejected {
                known.now(Fate::ToRepeat, format!("run {run}: its {blame} is to be put right"));
            }
        }
        Showed::Passes if known.failures.is_empty() => {
            known.now(Fate::Accepted, format!("run {run} passes"));
        }
        Showed::Passes => {
            known.now(Fate::OnHold, format!("it has failed, and run {run} passes"));
        }
        Showed::Open => {
            known.open += 1;
            if !known.failures.is_empty() {
                known.now(Fate::OnHold, format!("it has failed, and run {run} stays open"));
            } else if known.open > 1 {
                known.now(Fate::OnHold, format!("run {run} stays open, as one before"));
            } else {
                known.now(Fate::ToRepeat, format!("run {run} stays open"));
            }
        }
        Showed::AtFault(symptom) => failed(known, run, symptom, true),
        Showed::Unsure(symptom) => failed(known, run, symptom, false),
    }
}

fn failed(known: &mut Known, run: u32, symptom: &Symptom, module: bool) {
    let before = known.failures.last().cloned();
    known.failures.push((symptom.clone(), module));
    match before {
        None if known.open > 0 => {
            known.now(Fate::OnHold, format!("one try stays open, and run {run} fails"));
        }
        None => known.now(Fate::ToRepeat, format!("run {run} fails: seat it again")),
        Some((same, true)) if module && same == *symptom => {
            known.now(Fate::Rejected, format!("it fails twice in the same way, last in run {run}"));
        }
        Some(_) if !module => {
            known.now(Fate::OnHold, format!("it fails again, and run {run} cannot say why"));
        }
        Some(_) => known.now(Fate::OnHold, format!("it fails again, in run {run} in another way")),
    }
}

#[cfg(test)]
#[path = "fate/tests.rs"]
mod tests;
