//! From a draft to a reading.

use super::draft::{ReadingDraft, add};
use super::traceability::traceability;
use crate::calibration::correction::Corrections;
use crate::judge::expect::{of_sheet, production, sheet_key};
use crate::judge::limits_from::LimitsFrom;
use crate::judge::reading::{Quantity, Reading, Verdict};
use crate::judge::remedy::remedy;
use crate::judge::risk;
use crate::judge::verdict::{Window, guard_band, verdict};
use crate::run::event::Diagnosis;
use crate::run::see::untrusted::Untrusted;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::Plan;

/// What a run knows of each of its readings.
pub struct Judge<'a> {
    pub plan: &'a Plan,
    pub step: &'a str,
    /// Seconds since the run began, by the jig's clock.
    pub time_s: f64,
    pub corrections: Option<&'a Corrections>,
}

impl Judge<'_> {
    /// Judges a draft.
    pub fn reading(&self, draft: ReadingDraft, diagnosis: &mut dyn Diagnosis) -> Reading {
        let ReadingDraft { clamp, quantity, window, facts, mut note, untrusted, .. } = draft;
        let estimate = draft.estimate.filter(|e| e.value.is_finite());
        let mut decided = verdict(estimate.as_ref(), &window, self.plan.rule);
        if estimate.is_none() && draft.undecided {
            decided = Verdict::Indeterminate;
        }
        decided = draft.seen.unwrap_or(decided);
        let side = window.side(estimate.map(|e| e.value));
        let mut blamed = None;
        if let Some(why) = untrusted {
            decided = why.decide(decided, side);
            add(&mut note, why.in_words());
        }
        // What is cut off is no value: it lies somewhere beyond that.
        let bound = draft.bound.or(untrusted.and_then(Untrusted::bound));
        let leaves_nothing = untrusted.is_some_and(|why| !why.leaves_a_value());
        let estimate = estimate.filter(|_| bound.is_some() || !leaves_nothing);
        if let Some(why) = untrusted.filter(|_| decided == Verdict::Indeterminate) {
            blamed = Some(why.blame());
        } else if decided != Verdict::Pass {
            let finding = diagnosis.of_reading(quantity, side, &facts);
            blamed = Some(finding.blame);
            add(&mut note, finding.why);
        }
        let sheet = &self.plan.module;
        let production = production(sheet, quantity, &window);
        // Of what is beyond the jig's range nothing but that is known.
        let known_by = estimate.filter(|_| bound.is_none());
        let limited = known_by.filter(|_| !quantity.is_counted() && window != Window::OPEN);
        let known = limited.and_then(|e| risk::of_reading(&e, &window, production));
        // What is untrusted for another reason is not settled by a smaller uncertainty.
        let straddles = decided == Verdict::Indeterminate && untrusted.is_none();
        let settled_by = limited.filter(|_| straddles).and_then(|e| remedy(&e, &window));
        Reading {
            step: self.step.to_owned(),
            output: clamp.map(|c| c.output),
            position: clamp.map(|c| c.position),
            time_s: Some(self.time_s),
            quantity,
            bound: bound.filter(|_| estimate.is_some()),
            value: estimate.map(|e| e.value),
            uncertainty: known_by.map(|e| e.expanded()),
            lower_limit: window.lower,
            upper_limit: window.upper,
            verdict: decided,
            blame: blamed,
            note,
            traceability: traceability(self.corrections, quantity, clamp),
            budget: known_by.map(|e| e.budget),
            limits_from: limits_from(sheet, quantity, &window, draft.limits_from),
            risk: known.and_then(|k| k.wrong(decided)).map(risk::three_digits),
            guard_band: limited.map(|e| guard_band(&e, self.plan.rule)),
            outside: known.map(|k| risk::three_digits(k.outside)),
            settled_by,
        }
    }
}

/// Where the limits of a reading come from: from `said`, else from the module sheet.
fn limits_from(
    sheet: &ModuleSheet,
    quantity: Quantity,
    window: &Window,
    said: Option<LimitsFrom>,
) -> Option<LimitsFrom> {
    let by_sheet = || match sheet_key(quantity) {
        Some(key) => LimitsFrom::ModuleSheet { key: key.into() },
        None => LimitsFrom::EveryModule,
    };
    if *window == Window::OPEN {
        return None;
    }
    said.or_else(|| (*window == of_sheet(sheet, quantity)).then(by_sheet))
}
