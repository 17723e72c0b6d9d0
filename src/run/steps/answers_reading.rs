//! What a search found, noted and told as one reading.

use crate::judge::blame::{Answers, Facts};
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::measure::uncertainty::Estimate;
use crate::run::deviation::{Deviation, Explanation, explanation, follows};
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::outcome::AnswersAt;
use crate::run::search::elsewhere::Found;
use crate::run::step_stop::StepStop;
use crate::script::every_switch::switches;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::BankSetting;
use crate::signal::target::Format;

/// What to do when it answers the other way round.
const WRONG_WAY_ROUND: &str = "the module answers only with the feed the other way round: turn the \
                               power off, swap the two feed wires at the module, and test again";

/// What to say when it answers only after a while.
const LATE: &str = "it did not answer at first: it needs longer to boot than its sheet says, or it misses \
                    commands";

/// Notes what a search found in the middle of another step, and tells it. What follows is done where the
/// module answers: [`StepStop::Moved`] takes this step again there.
pub fn after_search(run: &mut OngoingRun<'_, '_>, found: Option<Found>) -> Result<(), StepStop> {
    match found {
        None | Some(Found::Unasked) => Ok(()),
        Some(Found::Here) => {
            run.state.answers_here();
            Ok(())
        }
        Some(found) => {
            conclude(run, Quantity::Answers, &found)?;
            Err(StepStop::Moved)
        }
    }
}

/// Notes what a search found and tells it. Ends the run where there is nothing left to be tested.
pub fn conclude(
    run: &mut OngoingRun<'_, '_>,
    quantity: Quantity,
    found: &Found,
) -> Result<(), StepStop> {
    let asked = run.state.asked;
    let module = &run.plan.module;
    let mut facts = run.state.facts;
    let (value, note, enough) = match found {
        Found::Unasked => (0.0, String::new(), None),
        Found::Here => {
            run.state.answers_here();
            facts.answers = Answers::Here;
            (1.0, String::new(), None)
        }
        Found::Late => {
            run.state.answers_here();
            facts.answers = Answers::Here;
            (0.0, LATE.to_owned(), None)
        }
        Found::At(at) => {
            run.state.answers_at(*at);
            facts.answers = Answers::Elsewhere;
            if run.is_wanted_elsewhere(*at) {
                let (value, note) = elsewhere_told(run, asked, *at);
                (value, note, None)
            } else {
                (1.0, format!("it answers at {} {}", at.address, at.format), None)
            }
        }
        Found::AsOthers(at, kinds) => {
            facts.answers = Answers::Elsewhere;
            let note = as_others(module, *at, kinds);
            (0.0, note.clone(), Some(note))
        }
        Found::WrongWayRound => {
            facts.answers = Answers::Elsewhere;
            (0.0, WRONG_WAY_ROUND.to_owned(), Some(WRONG_WAY_ROUND.to_owned()))
        }
        Found::AfterCopies(copies) => {
            facts.answers = Answers::Here;
            let note = format!(
                "the module answers only when a command is sent {copies} times in a row; its sheet \
                 sends {}",
                module.repeat
            );
            (0.0, note.clone(), Some(note))
        }
        Found::Nowhere(why) => {
            facts.answers = Answers::Nowhere;
            (0.0, String::new(), Some(why.clone()))
        }
        Found::NotSearched(why) => {
            facts.answers = Answers::NotSearched;
            let note = format!("the module does not answer at {asked}, and {why}");
            (0.0, note.clone(), Some(note))
        }
    };
    run.state.facts.answers = match facts.answers {
        // From here on it is tested there.
        Answers::Elsewhere if enough.is_none() => Answers::Here,
        answers => answers,
    };
    let window = of_sheet(module, quantity);
    let draft = ReadingDraft::new(quantity, Some(Estimate::new(value, &[])), window);
    run.read(draft.knowing(Facts::from(facts)).noting(note))?;
    enough.map_or(Ok(()), |why| Err(StepStop::Enough(why)))
}

impl OngoingRun<'_, '_> {
    /// Whether somebody wants the module to answer elsewhere than it does.
    pub fn is_wanted_elsewhere(&self, at: AnswersAt) -> bool {
        let (asked, wanted) = (self.state.asked, self.plan.wanted);
        let was_set_anew = asked != self.plan.bank;
        let format = at.format != asked.format;
        let address = at.address != asked.address || format;
        (address && (wanted.address.is_some() || was_set_anew))
            || (format && wanted.format.is_some())
    }
}

/// Of which kind it seems to be.
fn as_others(sheet: &ModuleSheet, at: AnswersAt, kinds: &[String]) -> String {
    let there = format!("the module answers at {} {}", at.address, at.format);
    let own = &sheet.kind;
    match kinds {
        [] => format!("{there}, but not as a {own} does: look whether its module sheet is right"),
        [one] => format!(
            "{there} as a {one} does, not as a {own}: test it with that module sheet (--module-sheet)"
        ),
        many => format!(
            "{there} as a {} does, not as a {own}: test it with the right module sheet \
             (--module-sheet)",
            many.join(" or a ")
        ),
    }
}

/// The value of `answers`, and the note, for a module that answers elsewhere than it is wanted to. What
/// follows from what was told at an earlier setting fails no second time.
pub fn elsewhere_told(
    run: &mut OngoingRun<'_, '_>,
    asked: BankSetting,
    at: AnswersAt,
) -> (f64, String) {
    let sheet = &run.plan.module;
    let now = Deviation { asked, at };
    let told = &mut run.state.deviations;
    let is_told = follows(sheet, told, now);
    told.push(now);
    if !is_told {
        return (0.0, moved_by(sheet, now));
    }
    let why = match explanation(sheet, told) {
        Some(Explanation::Switches(others)) => {
            format!("with {} the other way", switches_named(others))
        }
        Some(Explanation::Counting(by)) => further(by),
        None => String::new(),
    };
    (1.0, format!("it answers at {} {}, {why} as before", at.address, at.format))
}

/// So many addresses away.
pub fn further(by: i64) -> String {
    format!("{} addresses {}", by.abs(), if by > 0 { "higher" } else { "lower" })
}

/// `switch 3`, `switches 3 and 5`.
pub fn switches_named(set: u32) -> String {
    let all: Vec<String> = switches(set).map(|n| n.to_string()).collect();
    match all.split_last() {
        None => "no switch".into(),
        Some((one, [])) => format!("switch {one}"),
        Some((last, first)) => format!("switches {} and {last}", first.join(", ")),
    }
}

/// Where it answers instead, and which switch to move for that.
fn moved_by(sheet: &ModuleSheet, now: Deviation) -> String {
    let Deviation { asked, at } = now;
    let there = format!("the module answers at {} {}, {asked} wanted", at.address, at.format);
    let counted = match asked.format {
        Format::Dcc => "`numbering`",
        Format::Trinary => "`base`",
    };
    match explanation(sheet, &[now]) {
        Some(Explanation::Switches(others)) => {
            let other_way = if now.is_a_group_away() {
                format!("; or it counts groups another way ({counted} in its sheet)")
            } else {
                String::new()
            };
            let which = switches_named(others);
            format!("{there}: with the power off, move {which}{other_way}")
        }
        Some(Explanation::Counting(_)) | None => format!(
            "{there}: none of its switch settings means that, so look whether its kind and \
             {counted} in its sheet are right"
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::address::set_to;
    use crate::script::shipped;

    fn said(asked: i64, at: u16, format: Format) -> String {
        let sheet = shipped::module_sheet("pier-four").unwrap();
        let (address, switches) = set_to(&sheet, asked, Format::Dcc).unwrap();
        let count = sheet.switches.weights.len() as u8;
        let asked = BankSetting { switches, count, address, format: Format::Dcc };
        moved_by(&sheet, Deviation { asked, at: AnswersAt { address: at, format } })
    }

    #[test]
    fn the_switches_to_move_are_named() {
        // Group 46 is switches 3 (2), 4 (4) and 8 (40): without the first it is 44.
        let told = said(181, 173, Format::Dcc);
        assert!(
            told.ends_with("173 dcc, 181 dcc wanted: with the power off, move switch 3"),
            "{told}"
        );
        let told = said(181, 157, Format::Dcc);
        assert!(told.contains("move switches ") && told.contains(" and "), "{told}");
        let told = said(181, 182, Format::Dcc);
        assert!(told.contains("none of its switch settings means that"), "{told}");
        let told = said(181, 181, Format::Trinary);
        assert!(
            told.contains("181 trinary, 181 dcc wanted: with the power off, move switch"),
            "{told}"
        );
    }
}
