//! The finding of a run: one sentence on what is the matter, one on what to do. The one place that
//! words it.

use super::amount::amount;
use super::objection;
use super::suspects;
use crate::judge::reading::{Blame, Quantity, Reading, Verdict};
use crate::judge::roots::{Root, is_first_of_all, roots};
use crate::plain::plain;
use crate::run::event::{Ending, Outcome};
use crate::run::options::NOT_SEARCHED;
use crate::script::module_sheet::PositionNames;

/// What a run found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// What is the matter.
    pub sentence: String,
    /// What to do.
    pub to_do: String,
}

/// The finding of a run from the readings that do not pass.
pub fn finding(
    outcome: &Outcome,
    objections: &[Reading],
    names: &PositionNames,
    is_simulated: bool,
) -> Finding {
    let roots = roots(objections);
    let first = chosen(outcome, &roots);
    let (mut sentence, mut to_do) =
        (sentence(outcome, first, names), to_do(outcome, first, is_simulated));
    if let Some(suspects) = &outcome.suspects {
        sentence = format!("{sentence} {}", suspects::sentence(suspects));
        if let Some(test) = &suspects.settled_by {
            to_do = format!("{to_do} To settle it: {test}.");
        }
    }
    Finding { sentence, to_do }
}

/// The root that the run is blamed on: of those that blame the same as the whole run the first.
fn chosen<'r, 'a>(outcome: &Outcome, roots: &'r [Root<'a>]) -> Option<&'r Root<'a>> {
    let of_all = roots.first().filter(|root| is_first_of_all(root));
    let same = roots.iter().find(|root| root.worst.blame == outcome.blame);
    of_all.or(same).or(roots.first())
}

fn sentence(outcome: &Outcome, first: Option<&Root<'_>>, names: &PositionNames) -> String {
    let found = first.map(|root| found(outcome, root, names));
    match (&outcome.ending, found) {
        (Ending::Complete | Ending::EndedEarly(_), Some(found)) => found,
        (Ending::Complete, None) if outcome.verdict == Verdict::Pass => {
            "Every reading is inside its limits.".into()
        }
        (Ending::Complete, None) => "Nothing was read.".into(),
        (Ending::EndedEarly(why), None) => {
            format!("Ended early: {}.", plain(why).trim_end_matches('.'))
        }
        (Ending::Stopped, None) => "Stopped by the operator before the end; nothing failed.".into(),
        (Ending::Stopped, Some(found)) => {
            format!("Stopped by the operator before the end. Until then: {found}")
        }
        (Ending::Unrecorded(why), _) => format!(
            "All was measured, but the record is not finished: {}.",
            plain(why).trim_end_matches('.')
        ),
        (Ending::BenchTrouble(why), _) => {
            format!("Cut short: {}.", plain(why).trim_end_matches('.'))
        }
    }
}

/// Whose fault, where and by how much.
fn found(outcome: &Outcome, root: &Root<'_>, names: &PositionNames) -> String {
    let told = objection::sentence(root, names);
    if root.worst.verdict == Verdict::Indeterminate {
        return match root.worst.value {
            Some(_) if root.worst.bound.is_some() => {
                format!("Beyond what the jig can tell: {told}.")
            }
            Some(_) => format!("Too near to a limit to decide: {told}."),
            None => format!("Not measured: {told}."),
        };
    }
    match outcome.blame {
        Some(Blame::Module) => format!("Most likely the module: {told}."),
        Some(Blame::Setting) => format!("Most likely a setting of the module: {told}."),
        Some(Blame::Lead) => format!("Most likely a lead or clamp, not the module: {told}."),
        Some(Blame::Load) => format!("Most likely a load, not the module: {told}."),
        Some(Blame::Jig) => format!("Most likely the jig, not the module: {told}."),
        Some(Blame::Unsure) | None => format!("The cause cannot be told: {told}."),
    }
}

fn to_do(outcome: &Outcome, first: Option<&Root<'_>>, is_simulated: bool) -> String {
    match &outcome.ending {
        Ending::Stopped => {
            return "Test the module again from the start; what was read is kept.".into();
        }
        Ending::BenchTrouble(_) => {
            return "Put that right, then test the module again; what was read is kept.".into();
        }
        Ending::Unrecorded(_) => {
            return "Make room on the disk, then run `musterbench recover`: it finishes the report; \
                    the module need not be tested again."
                .into();
        }
        Ending::Complete | Ending::EndedEarly(_) => {}
    }
    if outcome.verdict == Verdict::Pass {
        return if is_simulated {
            "Nothing: a simulated run tells nothing about a real module.".into()
        } else {
            "Nothing: the module can go into service.".into()
        };
    }
    let Some(first) = first else { return "Test again.".into() };
    if outcome.verdict == Verdict::Indeterminate {
        return settle(first.worst, is_simulated);
    }
    cure(outcome.blame, first.worst).into()
}

/// What would decide a reading that is open.
fn settle(open: &Reading, is_simulated: bool) -> String {
    if let Some(remedy) = &open.settled_by {
        let unit = open.quantity.unit();
        return format!("What would settle it: {}.", remedy.words(|value| amount(value, unit)));
    }
    match open.quantity {
        Quantity::LampRate | Quantity::LampDuty | Quantity::LampSeen if is_simulated => {
            "Nothing: a simulated bench has no lamp to look at, a real run asks at the terminal."
                .into()
        }
        Quantity::LampRate | Quantity::LampDuty | Quantity::LampSeen => {
            "Test again from a terminal, and look at the status lamp when it asks.".into()
        }
        _ if open.value.is_none() || open.bound.is_some() => {
            "Put right what kept it from being measured, or take a jig that can; then test again."
                .into()
        }
        _ => "Turn the power off, seat the module again and test again; nothing has failed yet."
            .into(),
    }
}

/// What to do about a reading that fails.
fn cure(blame: Option<Blame>, reading: &Reading) -> &'static str {
    match (blame, reading.quantity) {
        (Some(Blame::Module), Quantity::FeedResistance) => {
            "Leave the power off, and look for wires that touch; if none do, the short is in the module: \
             test once more without it, then reject it."
        }
        (_, Quantity::FeedResistance | Quantity::FeedToCommons | Quantity::CommonToCommon) => {
            "Leave the power off, part what touches, then test again."
        }
        (_, Quantity::FeedVoltage) => {
            "Check the supply of the feed: its voltage, its fuse and its leads; then test again."
        }
        (_, Quantity::LoadVoltage) => {
            "Check the load supply: its voltage, its fuse and its leads; then test again."
        }
        (Some(Blame::Module), _) => {
            "Turn the power off, seat the module again and test once more; reject it only if it \
             fails again in the same way."
        }
        (Some(Blame::Setting), Quantity::IdleCurrent | Quantity::AuxiliaryCurrent) => {
            "Turn the power off, put the slider of the auxiliary supply right, then test again."
        }
        (Some(Blame::Setting | Blame::Unsure), Quantity::Answers)
            if reading.note.contains("counts groups another way") =>
        {
            "Turn the power off and look at its switches; if they stand right, put its sheet right; then \
             test again."
        }
        (Some(Blame::Setting | Blame::Unsure), Quantity::Answers)
            if reading.note.contains("move switch") =>
        {
            "Turn the power off, put that right, then test again; a switch that stands right already \
             is stuck: reject the module."
        }
        (Some(Blame::Unsure), Quantity::Answers) if reading.note.contains(NOT_SEARCHED) => {
            "Test again with --search, or alone on its feed; or set its switches right first."
        }
        (Some(Blame::Setting), Quantity::Answers | Quantity::AnswersInverted) => {
            "Turn the power off, put that right, then test again."
        }
        (Some(Blame::Setting), _) => {
            "Turn the power off, check switches, slider and the two feed wires, then test again."
        }
        (Some(Blame::Lead), Quantity::StartCharge | Quantity::IdleCurrent | Quantity::Answers) => {
            "Turn the power off, check the two leads of the feed, then test again."
        }
        (Some(Blame::Lead), _) => {
            "Turn the power off, check the leads and clamps between jig and module, then test again."
        }
        (Some(Blame::Load), _) => {
            "Turn the power off, let hot lamps cool, check this load, then test again."
        }
        (Some(Blame::Jig), _) => {
            "Test a module that is known to be good; if that fails too, judge no module on this \
             jig until it is put right."
        }
        (None | Some(Blame::Unsure), _) => {
            "Turn the power off, seat the module again, check leads and loads, then test again."
        }
    }
}
