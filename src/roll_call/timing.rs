//! When each command of a burst had gone out, from the few times that the jig told.

/// The commands of a burst in the order in which they go out, as far as is known when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Timing {
    /// Nothing has gone out before.
    began_us: u64,
    /// How long each command takes at least.
    durations_us: Vec<u64>,
    /// Commands of which the end is known, in order.
    known: Vec<(usize, u64)>,
}

impl Timing {
    /// A burst that is sent from `began_us` on, of commands that take at least so long each.
    pub fn new(began_us: u64, durations_us: Vec<u64>) -> Self {
        Timing { began_us, durations_us, known: Vec::new() }
    }

    /// Notes that the command at `index` had gone out at `end_us`.
    pub fn note(&mut self, index: usize, end_us: u64) {
        if self.known.last().is_none_or(|&(last, _)| last < index) {
            self.known.push((index, end_us));
        }
    }

    /// The earliest and the latest time at which a command can have gone out. They are one where the
    /// commands followed each other without a pause.
    pub fn end_us(&self, index: usize) -> (u64, u64) {
        let sum = |range: core::ops::Range<usize>| self.durations_us[range].iter().sum::<u64>();
        let before = self.known.iter().rev().find(|&&(known, _)| known <= index);
        let earliest_us = match before {
            Some(&(known, end_us)) => end_us + sum(known + 1..index + 1),
            None => self.began_us + sum(0..index + 1),
        };
        let after = self.known.iter().find(|&&(known, _)| known >= index);
        let latest_us = after
            .map_or(u64::MAX, |&(known, end_us)| end_us.saturating_sub(sum(index + 1..known + 1)));
        (earliest_us.min(latest_us), latest_us)
    }

    /// The commands, the latest one first, of which a copy can have gone out at most `response_us`
    /// before `at_us`; `slack_us` is how well that is known. `first_copy_us` says how long before
    /// its end a command's first copy had gone out.
    pub fn suspects(
        &self,
        at_us: u64,
        response_us: u64,
        slack_us: u64,
        first_copy_us: impl Fn(usize) -> u64,
    ) -> Vec<usize> {
        (0..self.durations_us.len())
            .rev()
            .filter(|&index| {
                let (earliest_us, latest_us) = self.end_us(index);
                let first_us = earliest_us.saturating_sub(first_copy_us(index) + slack_us);
                first_us <= at_us && at_us <= latest_us.saturating_add(response_us + slack_us)
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn commands_without_a_pause_are_known_exactly() {
        let mut timing = Timing::new(1_000, vec![100; 6]);
        timing.note(5, 1_600);
        for index in 0..6 {
            let end_us = 1_100 + 100 * index as u64;
            assert_eq!(timing.end_us(index), (end_us, end_us));
        }
        assert_eq!(timing.suspects(1_450, 120, 0, |_| 0), [3]);
        assert_eq!(timing.suspects(1_450, 120, 30, |_| 0), [3, 2]);
        assert_eq!(timing.suspects(1_450, 120, 60, |_| 0), [4, 3, 2]);
    }

    proptest! {
        /// However the line holds commands up and whatever of it is told, each command's end lies
        /// between the two times, and the one that was answered is among the suspects.
        #[test]
        fn the_true_end_lies_between(
            commands in prop::collection::vec((50u64..200, 0u64..500, any::<bool>()), 1..40),
            pick in any::<prop::sample::Index>(),
            delay_us in 0u64..300,
        ) {
            let mut timing = Timing::new(7, commands.iter().map(|c| c.0).collect());
            let mut now_us = 7;
            let mut ends = Vec::new();
            for (index, &(duration_us, pause_us, told)) in commands.iter().enumerate() {
                now_us += pause_us + duration_us;
                ends.push(now_us);
                if told || index + 1 == commands.len() {
                    timing.note(index, now_us);
                }
            }
            for (index, &end_us) in ends.iter().enumerate() {
                let (earliest_us, latest_us) = timing.end_us(index);
                prop_assert!(earliest_us <= end_us && end_us <= latest_us);
            }
            let answered = pick.index(ends.len());
            let suspects = timing.suspects(ends[answered] + delay_us, 300, 0, |_| 0);
            prop_assert!(suspects.contains(&answered));
            prop_assert!(suspects.is_sorted_by(|a, b| a > b));
        }
    }
}
