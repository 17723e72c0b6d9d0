//! From an alarm to the one target that answers: the suspects are asked again, fewer each time.

use super::call_stop::CallStop;
use super::caller::Caller;
use super::plan::Burst;
use super::target::Target;
use super::watch::Heard;
use crate::signal::target::Position;

/// How the suspects are split.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Split {
    /// The first one against all others, then by halves: a coil is driven long before its contact
    /// closes, so the latest command is the likeliest.
    FirstAlone,
    /// By halves from the beginning.
    Halves,
}

impl Caller<'_> {
    /// Looks into an alarm that a burst to `to` has raised. Returns the target that answers when it
    /// is asked alone; `None` for a false alarm.
    ///
    /// At most one command a suspect goes out, and two more.
    pub fn narrow(
        &mut self,
        suspects: &[Target],
        split: Split,
        to: Position,
        copies: u8,
    ) -> Result<Option<Target>, CallStop> {
        let mut left = suspects;
        // It stands where it was sent: only the other way makes it move.
        let mut to = to.other();
        let mut round = 0;
        while left.len() > 1 {
            let part = part(left.len(), split, round);
            let (some, others) = left.split_at(part);
            if self.ask(some, to, copies)?.is_silent() {
                left = others;
            } else {
                left = some;
                to = to.other();
            }
            round += 1;
        }
        let [target] = left else { return Ok(None) };
        for to in [to, to.other()] {
            if !self.ask(left, to, copies)?.is_silent() {
                return Ok(Some(*target));
            }
        }
        Ok(None)
    }

    /// Asks targets together, and gives the module time.
    pub fn ask(&mut self, targets: &[Target], to: Position, copies: u8) -> Result<Heard, CallStop> {
        self.call_in_peace(&Burst { targets: targets.to_vec(), to, copies })
    }
}

/// How many of so many suspects are asked.
fn part(suspects: usize, split: Split, round: usize) -> usize {
    match (split, round) {
        (Split::FirstAlone, 0) => 1,
        _ => suspects / 2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Whoever of the suspects it is, at most one command a suspect and two more are sent, in
        /// few rounds.
        #[test]
        fn the_bound_of_an_alarm_holds(suspects in 1usize..=64, pick in any::<prop::sample::Index>(),
            first_alone: bool) {
            let split = if first_alone { Split::FirstAlone } else { Split::Halves };
            let guilty = pick.index(suspects);
            let (mut from, mut left, mut sent, mut rounds) = (0, suspects, 0, 0);
            while left > 1 {
                let asked = part(left, split, rounds);
                prop_assert!(asked >= 1 && asked < left);
                sent += asked;
                if guilty < from + asked {
                    left = asked;
                } else {
                    from += asked;
                    left -= asked;
                }
                rounds += 1;
            }
            prop_assert_eq!(from, guilty);
            prop_assert!(sent + 2 <= suspects + 2);
            prop_assert!(rounds <= 8);
        }
    }
}
