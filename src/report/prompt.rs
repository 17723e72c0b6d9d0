//! What the operator is asked to do by hand.

use super::plain::plain;
use super::switch_bank::switch_bank;
use crate::script::plan::HandTask;

/// The words of a task, lines ended. A simulated bench does it by itself.
pub fn prompt(task: &HandTask, is_simulated: bool) -> String {
    let words = words(task);
    if is_simulated {
        format!("{words}SIMULATED: the bench does this by itself, there is nothing to be done.\n")
    } else {
        words
    }
}

fn words(task: &HandTask) -> String {
    match task {
        HandTask::Prepare { bank, auxiliary } => {
            let mut text = String::from(
                "\nThe feed is off. Leave it off until you have finished; extra-low voltage only.\n\
                 \x20 - Seat the module and fasten all its leads.\n",
            );
            if bank.count > 0 {
                text.push_str("  - Set its switches like this:\n\n");
                text.push_str(&switch_bank(bank.switches, bank.count));
                text.push('\n');
            }
            if let Some(on) = auxiliary {
                text.push_str(&format!("  - Slide its auxiliary supply to {}.\n", on_off(*on)));
            }
            text
        }
        HandTask::Switches(bank) => format!(
            "\nThe feed is off. Leave it off until you have finished; extra-low voltage only.\n\
             \x20 - Leave the module and its leads as they are.\n\
             \x20 - Set its switches like this, for first address {} in {}:\n\n{}\n",
            bank.address,
            bank.format,
            switch_bank(bank.switches, bank.count)
        ),
        HandTask::Auxiliary(on) => format!(
            "\nSlide the module's auxiliary supply to {}. Touch nothing else: the feed may be on, \
             and lamps may be hot.\n",
            on_off(*on)
        ),
        HandTask::Other(words) => format!("\n{}\n", plain(words)),
    }
}

/// How to answer.
pub const ANSWER: &str = "Press Enter when done, or q and Enter to stop: ";

fn on_off(on: bool) -> &'static str {
    if on { "ON" } else { "OFF" }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::plan::BankSetting;
    use crate::signal::target::Format;

    const BANK: BankSetting =
        BankSetting { switches: 0b10_0000_0101, count: 10, address: 17, format: Format::Dcc };

    #[test]
    fn switches_are_drawn_in_their_order() {
        let task = HandTask::Prepare { bank: BANK, auxiliary: Some(false) };
        insta::assert_snapshot!(prompt(&task, false).trim_start(), @r"
    The feed is off. Leave it off until you have finished; extra-low voltage only.
      - Seat the module and fasten all its leads.
      - Set its switches like this:

                 ┌────────────────────────────────┐
          on     │  ■  ·  ■  ·  ·  ·  ·  ·  ·  ■  │
          off    │  ·  ■  ·  ■  ■  ■  ■  ■  ■  ·  │
                 └────────────────────────────────┘
          switch    1  2  3  4  5  6  7  8  9 10

      - Slide its auxiliary supply to OFF.
    ");
    }

    #[test]
    fn switches_alone_are_set_with_the_power_off_too() {
        insta::assert_snapshot!(prompt(&HandTask::Switches(BANK), false).trim_start());
    }

    #[test]
    fn words_of_a_script_cannot_play_with_the_terminal() {
        let task = HandTask::Other("Turn it\u{1b}[2J round".into());
        assert_eq!(prompt(&task, false), "\nTurn it\u{fffd}[2J round\n");
        assert!(prompt(&task, true).contains("SIMULATED"));
    }
}
