//! What the operator is asked about the status lamp, and what the answers mean.

use super::prompt::{Prompt, Subject, line};
use crate::quantity::range::Limits;
use crate::quantity::unit::Units;
use crate::run::event::{LampQuestion, LampSeen};
use crate::script::module_sheet::Rhythm;
use uom::si::f64::Frequency;

/// How to answer.
pub const LAMP_ANSWER: &str = "Answer 1, 2, 3 or 4 and press Enter, or q and Enter to stop: ";

/// What an answer means; `None`: it is none.
pub fn lamp_answer(line: &str) -> Option<LampSeen> {
    match line.trim() {
        "1" => Some(LampSeen::Due),
        "2" => Some(LampSeen::Other),
        "3" => Some(LampSeen::NoRhythm),
        "4" => Some(LampSeen::CannotTell),
        _ => None,
    }
}

/// The question.
pub fn lamp_prompt(question: &LampQuestion, subject: &Subject) -> Prompt {
    let (what, show, does) = match question.lamps {
        2 => ("status lamps", "show", "take turns"),
        _ => ("status lamp", "shows", "blinks"),
    };
    let other = match &question.other {
        Some(other) => format!("{does} {}", often(other)),
        None => format!("{does} in another rhythm"),
    };
    let dark = if question.lamps == 2 { "dark, steady, or both at once" } else { "dark or steady" };
    let before = format!(
        "\nThe feed current does not tell what the {what} of the module {show}.\n\
         \x20 1  {does} {}\n\
         \x20 2  {other}\n\
         \x20 3  {dark}\n\
         \x20 4  cannot tell\n",
        often(&question.due)
    );
    let look = format!("look at its {what}. Touch nothing: the feed is on.");
    Prompt { before, line: line(subject, &look) }
}

/// How often, in words.
fn often(rhythm: &Rhythm) -> String {
    let Limits { lower, upper } = rhythm.rate;
    let times = |rate: Frequency| format!("{:.1}", rate.si());
    match (lower, upper) {
        (Some(lower), Some(upper)) => {
            format!("{} to {} times a second", times(lower), times(upper))
        }
        (Some(lower), None) => format!("at least {} times a second", times(lower)),
        (None, Some(upper)) => format!("at most {} times a second", times(upper)),
        (None, None) => "regularly".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::shipped;

    #[test]
    fn the_question_names_both_rhythms() {
        let sheet = shipped::module_sheet("pier-four").unwrap();
        let one = LampQuestion { lamps: 1, due: sheet.lamp, other: sheet.lamp_inverted };
        let two = LampQuestion { lamps: 2, due: sheet.lamp, other: None };
        let subject = Subject { name: "lock-7".into(), address: Some(17) };
        let text = |question| {
            let Prompt { before, line } = lamp_prompt(question, &subject);
            before + &line + "\n"
        };
        insta::assert_snapshot!(text(&one).trim_start());
        insta::assert_snapshot!(text(&two).trim_start());
    }

    #[test]
    fn only_the_answers_are_answers() {
        assert_eq!(lamp_answer(" 2 "), Some(LampSeen::Other));
        for word in ["", "5", "12", "yes"] {
            assert_eq!(lamp_answer(word), None);
        }
    }
}
