//! Does the jig's clock go right? The program's own clock serves for this alone: it never measures.
//!
//! A reading of the jig's clock was made between the moment when it was asked for and the one when it came. So
//! what lies between two readings is known from below and from above, however slow the line is, and nothing
//! but a clock that goes wrong leaves these bounds.

use core::time::Duration;

/// So much wrong a clock may go: far more than any crystal does, and than a reading's uncertainty allows for.
const RATE: f64 = 0.01;
/// So much besides, in seconds: a program that did not get the processor may take a moment to look at its clock.
const SLACK_S: f64 = 0.25;
/// So many readings in a row must be wrong.
const SURE: u32 = 3;

/// A reading of the jig's clock.
#[derive(Clone, Copy, Debug)]
struct Reading {
    jig_s: f64,
    asked_s: f64,
    came_s: f64,
}

/// Watches the jig's clock over a session.
#[derive(Debug, Default)]
pub struct ClockWatch {
    first: Option<Reading>,
    wrong: u32,
}

impl ClockWatch {
    /// Takes a reading, in microseconds, and when it was asked for and came. When the clock has gone wrong for
    /// certain: by how many seconds since the first reading, and over how many.
    pub fn take(&mut self, jig_us: u64, asked: Duration, came: Duration) -> Option<(f64, f64)> {
        let now = Reading {
            jig_s: jig_us as f64 * 1e-6,
            asked_s: asked.as_secs_f64(),
            came_s: came.as_secs_f64(),
        };
        let first = *self.first.get_or_insert(now);
        let jig_s = now.jig_s - first.jig_s;
        let (least_s, most_s) = (now.asked_s - first.came_s, now.came_s - first.asked_s);
        let slow_s = least_s.max(0.0) * (1.0 - RATE) - SLACK_S - jig_s;
        let fast_s = jig_s - most_s * (1.0 + RATE) - SLACK_S;
        if slow_s <= 0.0 && fast_s <= 0.0 {
            self.wrong = 0;
            return None;
        }
        self.wrong += 1;
        let over_s = 0.5 * (least_s + most_s);
        (self.wrong >= SURE).then_some((jig_s - over_s, over_s))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Takes a reading each second over a minute, of a clock that shows `jig` when `0..60` s have gone by;
    /// each takes so long. When it is found to be wrong.
    fn found(took_s: f64, jig: impl Fn(f64) -> f64) -> Option<f64> {
        let mut watch = ClockWatch::default();
        (0..60).map(f64::from).find(|&s| {
            let jig_us = (1e6 * jig(s + 0.5 * took_s)) as u64;
            let (asked, came) = (Duration::from_secs_f64(s), Duration::from_secs_f64(s + took_s));
            watch.take(jig_us, asked, came).is_some()
        })
    }

    #[test]
    fn a_clock_that_goes_wrong_by_two_in_a_hundred_is_found_within_a_run() {
        assert_eq!(found(0.005, |s| 100.0 + s), None);
        assert_eq!(found(0.005, |s| 100.0 + 1.0001 * s), None);
        for rate in [0.98, 1.02] {
            let at = found(0.005, |s| 100.0 + rate * s).expect("found");
            assert!((20.0..40.0).contains(&at), "{at}");
        }
    }

    #[test]
    fn a_clock_that_jumps_is_found_at_once() {
        for jump in [-3.0, -0.5, 0.5, 3.0] {
            let jumps = |s: f64| 100.0 + s + if s > 20.0 { jump } else { 0.0 };
            let at = found(0.005, jumps).expect("found");
            assert!((22.0..24.0).contains(&at), "{jump}: {at}");
        }
    }

    proptest! {
        /// A right clock is right however long the answers take, and wherever in that time it was read.
        #[test]
        fn a_right_clock_is_never_found_wrong(
            gaps in prop::collection::vec((0.0..5.0_f64, 0.0..9.0_f64, 0.0..=1.0_f64), 1..60),
            rate in -5e-3..5e-3_f64,
        ) {
            let (mut watch, mut now_s) = (ClockWatch::default(), 0.0);
            for (gap_s, took_s, share) in gaps {
                let asked_s = now_s + gap_s;
                now_s = asked_s + took_s;
                let read_s = asked_s + share * took_s;
                let jig_us = (1e6 * (7.0 + (1.0 + rate) * read_s)) as u64;
                let times = (Duration::from_secs_f64(asked_s), Duration::from_secs_f64(now_s));
                prop_assert_eq!(watch.take(jig_us, times.0, times.1), None);
            }
        }
    }
}
