//! Coils that begin to pull, seen in the feed current.
//!
//! The lamp blinks in the same current, and the auxiliary supply may stand in it: only a rise above
//! what flowed just before counts, and only one that is high enough and stays. A coil that begins to
//! pull just when another one lets go shows late or not at all; that takes two modules, and once
//! the first of them is known it is not asked again.

use core::ops::Range;

/// The lowest current of so many points before is what flowed before.
const BEFORE: usize = 10;
/// A rise stays for so many points.
const STAYS: usize = 3;
/// A coil's current has risen within so many points; until then nothing new begins.
const RISES: usize = 6;
/// The height is looked for within so many points.
const HIGHEST_WITHIN: usize = 15;

/// A rise of the current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rise {
    /// The first point above.
    pub at: usize,
    /// How far it rises, in the unit of the values.
    pub height: f64,
}

/// All rises by more than `least`, in order of time. The points are about a millisecond apart.
pub fn rises(values: &[f32], least: f64) -> Vec<Rise> {
    let mut rises = Vec::new();
    // What lies before this point is no base any more.
    let mut from = 0;
    let mut at = 1;
    while at + STAYS <= values.len() {
        let base = lowest(values, from.max(at.saturating_sub(BEFORE))..at);
        let is_high = |&value: &f32| f64::from(value) - base > least;
        if values[at..at + STAYS].iter().all(is_high) {
            let end = (at + HIGHEST_WITHIN).min(values.len());
            let highest = values[at..end].iter().copied().fold(f32::MIN, f32::max);
            rises.push(Rise { at, height: f64::from(highest) - base });
            from = at + RISES;
            at = from + 1;
        } else {
            at += 1;
        }
    }
    rises
}

/// The highest rise of a quiet record: the lamp's.
pub fn highest_rise(values: &[f32]) -> f64 {
    (1..values.len())
        .map(|at| f64::from(values[at]) - lowest(values, at.saturating_sub(BEFORE)..at))
        .fold(0.0, f64::max)
}

fn lowest(values: &[f32], range: Range<usize>) -> f64 {
    f64::from(values[range].iter().copied().fold(f32::MAX, f32::min))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A lamp of 8 mA at 50 points on and 50 off, and pulses of `height` for 30 points.
    fn trace(pulses: &[usize], height: f32) -> Vec<f32> {
        (0..600)
            .map(|i| {
                let lamp = if i / 50 % 2 == 0 { 0.008 } else { 0.0 };
                let coils = pulses.iter().filter(|&&at| (at..at + 30).contains(&i)).count();
                // The coil's current rises with a time constant of two points.
                let risen = pulses.iter().find(|&&at| (at..at + 30).contains(&i));
                let share = risen.map_or(0.0, |at| 1.0 - (-((i - at) as f32 + 1.0) / 2.0).exp());
                0.03 + lamp + coils as f32 * height * share
            })
            .collect()
    }

    #[test]
    fn a_coil_shows_and_the_lamp_does_not() {
        let found = rises(&trace(&[120, 333], 0.15), 0.03);
        assert_eq!(found.iter().map(|r| r.at).collect::<Vec<_>>(), [120, 333]);
        assert!(found.iter().all(|r| (r.height - 0.15).abs() < 0.01), "{found:?}");
        assert_eq!(rises(&trace(&[], 0.0), 0.03), []);
        assert!((highest_rise(&trace(&[], 0.0)) - 0.008).abs() < 1e-6);
    }

    #[test]
    fn short_records_have_no_rises() {
        for points in 0..4 {
            assert_eq!(rises(&vec![0.0; points], 0.01), []);
        }
        assert_eq!(highest_rise(&[]), 0.0);
    }

    proptest! {
        #[test]
        fn two_coils_in_turn_are_two(first in 20usize..250, apart in 16usize..200) {
            // The first one lets go after 30 points.
            prop_assume!(!(24..36).contains(&apart));
            let found = rises(&trace(&[first, first + apart], 0.1), 0.02);
            let at: Vec<usize> = found.iter().map(|r| r.at).collect();
            prop_assert_eq!(at.len(), 2, "{:?}", at);
            prop_assert!(at[0].abs_diff(first) <= 1 && at[1].abs_diff(first + apart) <= 1);
        }
    }
}
