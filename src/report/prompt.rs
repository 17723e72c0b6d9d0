//! What the operator is asked to do by hand.

use super::switch_bank::switch_bank;
use super::wrap::{COLUMNS, fit, width, wrap};
use crate::plain::plain;
use crate::script::plan::HandTask;

/// A question: what to know first, and the one line that says where and what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prompt {
    /// What to know first, lines ended; may be empty.
    pub before: String,
    /// Where, and what to do: one line that fits a terminal of 80 columns.
    pub line: String,
}

/// Of what is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Subject {
    /// The module or the jig, by its name.
    pub name: String,
    /// The first address that the module is set to, where it is set to one.
    pub address: Option<u16>,
}

/// How to answer.
pub const ANSWER: &str = "Press Enter when done, or q and Enter to stop: ";

/// What is said of anything else.
pub const NO_ANSWER: &str = "That was neither. Take your time.";

/// What is said before anything that is done with the power off.
const FEED_IS_OFF: &str =
    "The feed is off. Leave it off until you have finished; extra-low voltage only.\n";

/// The longest task in a script's own words that goes into one line.
const LONGEST_WORDS: usize = 48;

impl Prompt {
    /// A prompt of these words. They go into the line where they fit, else before it.
    pub fn of(subject: &Subject, words: &str) -> Self {
        let words = plain(words);
        if width(&words) <= LONGEST_WORDS {
            return Prompt { before: "\n".into(), line: line(subject, &words) };
        }
        Prompt::new(subject, &words, "do what is written above.")
    }

    /// A prompt of what to know first, and what to do in few words.
    pub fn new(subject: &Subject, before: &str, what: &str) -> Self {
        Prompt { before: format!("\n{}\n", wrap(before, COLUMNS, 0)), line: line(subject, what) }
    }

    /// The same with what is said on a simulated bench, which does it by itself.
    pub fn on_bench(mut self, is_simulated: bool) -> Self {
        if is_simulated {
            self.before.push_str(
                "SIMULATED: the bench does this by itself, there is nothing to be done.\n",
            );
        }
        self
    }
}

/// Where, and what to do. A name that is too long is cut, what to do never is.
pub fn line(subject: &Subject, what: &str) -> String {
    let at = subject.address.map(|a| format!(", address {a}")).unwrap_or_default();
    let rest = format!("{at}: {what}");
    let name = fit(&plain(&subject.name), COLUMNS.saturating_sub(width(&rest)).max(1));
    format!("{name}{rest}")
}

/// What to ask for a task.
pub fn prompt(task: &HandTask, subject: &Subject) -> Prompt {
    match task {
        HandTask::Prepare { bank, auxiliary } => {
            let mut before =
                format!("\n{FEED_IS_OFF}\x20 - Seat the module and fasten all its leads.\n");
            let mut what = String::from("seat it");
            match bank {
                Some(bank) if bank.count > 0 => {
                    before.push_str("  - Set its switches like this:\n\n");
                    before.push_str(&switch_bank(bank.switches, bank.count));
                    before.push('\n');
                    what.push_str(", set its switches as drawn");
                }
                Some(_) => {}
                None => before.push_str(
                    "  - Leave its switches as they are: the test finds out where it answers.\n",
                ),
            }
            if let Some(on) = auxiliary {
                let on = on_off(*on);
                before.push_str(&format!("  - Slide its auxiliary supply to {on}.\n"));
                what.push_str(&format!(", slider to {on}"));
            }
            what.push('.');
            Prompt { before, line: line(subject, &what) }
        }
        HandTask::Switches(bank) => Prompt {
            before: format!(
                "\n{FEED_IS_OFF}\
                 \x20 - Leave the module and its leads as they are.\n\
                 \x20 - Set its switches like this, for first address {} in {}:\n\n{}\n",
                bank.address,
                bank.format,
                switch_bank(bank.switches, bank.count)
            ),
            line: line(subject, "set its switches as drawn, nothing else."),
        },
        HandTask::Auxiliary(on) => Prompt {
            before: "\nTouch nothing else: the feed may be on, and lamps may be hot.\n".into(),
            line: line(subject, &format!("slide its auxiliary supply to {}.", on_off(*on))),
        },
        HandTask::Other(words) => Prompt::of(subject, words),
    }
}

fn on_off(on: bool) -> &'static str {
    if on { "ON" } else { "OFF" }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::plan::BankSetting;
    use crate::signal::target::Format;
    use proptest::prelude::*;

    const BANK: BankSetting =
        BankSetting { switches: 0b10_0000_0101, count: 10, address: 17, format: Format::Dcc };

    fn subject(address: u16) -> Subject {
        Subject { name: "lock-7".into(), address: Some(address) }
    }

    fn shown(task: &HandTask) -> String {
        let Prompt { before, line } = prompt(task, &subject(17));
        format!("{before}{line}")
    }

    #[test]
    fn switches_are_drawn_in_their_order() {
        let task = HandTask::Prepare { bank: Some(BANK), auxiliary: Some(false) };
        insta::assert_snapshot!(shown(&task).trim_start(), @r"
    The feed is off. Leave it off until you have finished; extra-low voltage only.
      - Seat the module and fasten all its leads.
      - Set its switches like this:

                 ┌────────────────────────────────┐
          on     │  ■  ·  ■  ·  ·  ·  ·  ·  ·  ■  │
          off    │  ·  ■  ·  ■  ■  ■  ■  ■  ■  ·  │
                 └────────────────────────────────┘
          switch    1  2  3  4  5  6  7  8  9 10

      - Slide its auxiliary supply to OFF.
    lock-7, address 17: seat it, set its switches as drawn, slider to OFF.
    ");
    }

    #[test]
    fn switches_alone_are_set_with_the_power_off_too() {
        insta::assert_snapshot!(shown(&HandTask::Switches(BANK)).trim_start());
    }

    #[test]
    fn words_of_a_script_cannot_play_with_the_terminal() {
        let task = HandTask::Other("Turn it\u{1b}[2J round".into());
        assert_eq!(shown(&task), "\nlock-7, address 17: Turn it\u{fffd}[2J round");
        let simulated = prompt(&task, &subject(17)).on_bench(true);
        assert!(simulated.before.contains("SIMULATED"));
    }

    proptest! {
        /// However long the names and words are.
        #[test]
        fn every_line_fits(name in "[a-z港 ]{1,64}", address: u16, words in ".{1,300}", on: bool) {
            let subject = Subject { name, address: Some(address) };
            for task in [
                HandTask::Prepare { bank: Some(BANK), auxiliary: Some(on) },
                HandTask::Switches(BANK),
                HandTask::Auxiliary(on),
                HandTask::Other(words.clone()),
            ] {
                let Prompt { before, line } = prompt(&task, &subject);
                for line in before.lines().chain([line.as_str()]) {
                    prop_assert!(width(line) <= COLUMNS, "{line}");
                }
                let at = format!(", address {address}: ");
                prop_assert!(line.contains(&at) && line.ends_with(|c: char| c != '…'), "{line}");
            }
        }
    }
}
