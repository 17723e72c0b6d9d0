//! What the operator is asked about the status lamp, and what the answers mean.

use crate::quantity::range::Limits;
use crate::quantity::unit::Units;
use crate::run::event::{LampQuestion, LampSeen};
use crate::script::module_sheet::Rhythm;
use uom::si::f64::Frequency;

/// How to answer.
pub const LAMP_ANSWER: &str = "Answer 1, 2, 3 or 4 and press Enter, or q and Enter to stop: ";

/// What an answer means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LampAnswer {
    /// What the operator sees.
    Seen(LampSeen),
    /// The operator wants to stop.
    Stop,
    /// None of the answers.
    Unclear,
}

/// Reads an answer.
pub fn lamp_answer(line: &str) -> LampAnswer {
    match line.trim() {
        "1" => LampAnswer::Seen(LampSeen::Due),
        "2" => LampAnswer::Seen(LampSeen::Other),
        "3" => LampAnswer::Seen(LampSeen::NoRhythm),
        "4" => LampAnswer::Seen(LampSeen::CannotTell),
        word if word.eq_ignore_ascii_case("q") => LampAnswer::Stop,
        _ => LampAnswer::Unclear,
    }
}

/// The question, lines ended.
pub fn lamp_question(question: &LampQuestion) -> String {
    let (what, show, does) = match question.lamps {
        2 => ("status lamps", "show", "take turns"),
        _ => ("status lamp", "shows", "blinks"),
    };
    let other = match &question.other {
        Some(other) => format!("{does} {}", often(other)),
        None => format!("{does} in another rhythm"),
    };
    let dark = if question.lamps == 2 { "dark, steady, or both at once" } else { "dark or steady" };
    format!(
        "\nThe feed current does not tell what the {what} of the module {show}.\n\
         Look, and touch nothing: the feed is on.\n\
         \x20 1  {does} {}\n\
         \x20 2  {other}\n\
         \x20 3  {dark}\n\
         \x20 4  cannot tell\n",
        often(&question.due)
    )
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
        let text = format!("{}{}", lamp_question(&one), lamp_question(&two));
        insta::assert_snapshot!(text.trim_start(), @r"
        The feed current does not tell what the status lamp of the module shows.
        Look, and touch nothing: the feed is on.
          1  blinks 0.9 to 1.1 times a second
          2  blinks 3.6 to 4.4 times a second
          3  dark or steady
          4  cannot tell

        The feed current does not tell what the status lamps of the module show.
        Look, and touch nothing: the feed is on.
          1  take turns 0.9 to 1.1 times a second
          2  take turns in another rhythm
          3  dark, steady, or both at once
          4  cannot tell
        ");
    }

    #[test]
    fn only_the_answers_are_answers() {
        assert_eq!(lamp_answer(" 2 \n"), LampAnswer::Seen(LampSeen::Other));
        assert_eq!(lamp_answer("Q\n"), LampAnswer::Stop);
        for word in ["", "5", "12", "yes"] {
            assert_eq!(lamp_answer(word), LampAnswer::Unclear);
        }
    }
}
