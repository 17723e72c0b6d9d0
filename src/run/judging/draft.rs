//! What a reading is made of, before it is judged.

use crate::judge::blame::Facts;
use crate::judge::limits_from::LimitsFrom;
use crate::judge::reading::{Bound, Quantity, Verdict};
use crate::judge::verdict::Window;
use crate::measure::uncertainty::Estimate;
use crate::run::see::untrusted::Untrusted;
use crate::signal::target::Clamp;

/// What a reading is made of.
#[derive(Clone, Debug)]
pub struct ReadingDraft {
    pub clamp: Option<Clamp>,
    pub quantity: Quantity,
    pub estimate: Option<Estimate>,
    pub window: Window,
    pub facts: Facts,
    pub note: String,
    /// A missing value leaves the verdict open instead of failing.
    pub undecided: bool,
    /// What a person has seen decides, in place of a value.
    pub seen: Option<Verdict>,
    /// Why not even a value that is there can be trusted.
    pub untrusted: Option<Untrusted>,
    /// Where the limits come from; `None` for those of the module sheet.
    pub limits_from: Option<LimitsFrom>,
    /// The true value is beyond the estimate, at an end of what the jig can tell.
    pub bound: Option<Bound>,
}

impl ReadingDraft {
    pub fn new(quantity: Quantity, estimate: Option<Estimate>, window: Window) -> Self {
        ReadingDraft {
            clamp: None,
            quantity,
            estimate,
            window,
            facts: Facts::default(),
            note: String::new(),
            undecided: false,
            seen: None,
            untrusted: None,
            limits_from: None,
            bound: None,
        }
    }

    pub fn at(mut self, clamp: Clamp) -> Self {
        self.clamp = Some(clamp);
        self
    }

    pub fn knowing(mut self, facts: impl Into<Facts>) -> Self {
        self.facts = facts.into();
        self
    }

    /// The first reason not to trust it stays.
    pub fn untrusted(mut self, why: Option<Untrusted>) -> Self {
        self.untrusted = self.untrusted.or(why);
        self
    }

    /// Without a value the verdict stays open.
    pub fn undecided(mut self) -> Self {
        self.undecided = true;
        self
    }

    pub fn limited_by(mut self, limits_from: Option<LimitsFrom>) -> Self {
        self.limits_from = limits_from;
        self
    }

    pub fn bound(mut self, bound: Bound) -> Self {
        self.bound = Some(bound);
        self
    }

    pub fn noting(mut self, note: impl Into<String>) -> Self {
        add(&mut self.note, &note.into());
        self
    }
}

/// One more sentence of a note.
pub fn add(note: &mut String, more: &str) {
    if !more.is_empty() {
        if !note.is_empty() {
            note.push_str("; ");
        }
        note.push_str(more);
    }
}

/// A number of outputs: counted, not measured.
pub fn count(outputs: usize) -> Estimate {
    Estimate::new(outputs as f64, &[])
}

/// `output 2 …`, `outputs 2 and 3 …`; empty for none.
pub fn outputs_note(what: &str, outputs: &[u8]) -> String {
    let list: Vec<String> = outputs.iter().map(u8::to_string).collect();
    match list.split_last() {
        None => String::new(),
        Some((only, [])) => format!("output {only} {what}"),
        Some((last, others)) => format!("outputs {} and {last} {what}", others.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outputs_are_listed_as_people_do() {
        assert_eq!(outputs_note("moved", &[]), "");
        assert_eq!(outputs_note("moved", &[2]), "output 2 moved");
        assert_eq!(outputs_note("moved", &[1, 3]), "outputs 1 and 3 moved");
        assert_eq!(outputs_note("moved", &[1, 2, 4]), "outputs 1, 2 and 4 moved");
    }
}
