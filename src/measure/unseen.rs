//! What a bouncing contact does that leaves no trace, and how likely it is.
//!
//! A touch between two conversions is seen by what the converter's filter remembers of it. One of a few
//! microseconds, long before the next conversion, is not: then the first closing is read too late, by as
//! much as the bounce lasts at most. The same holds for an interruption just before the last closing.

use super::filter::FILTER_S;

/// Time constant of the filter before a converter, microseconds.
const FILTER_US: f64 = FILTER_S * 1e6;
/// What a touch leaves behind at least in a point, as a share of the closed level: above what other outputs'
/// currents do to an open clamp (common practice, no source).
pub(super) const TRACE: f64 = 0.002;
/// A contact changes so often while it bounces: one to three rebounds, and the first touch is as likely to end
/// at any time (common practice, no source).
const CHANGES: f64 = 3.0;
/// Steps of the sum, microseconds.
const STEP_US: f64 = 0.25;

/// With this chance a value is not what was meant: the true one lies beyond it, anywhere up to a distance.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Unseen {
    /// The chance.
    pub chance: f64,
    /// How far the true value lies beyond at most, with its sign, in the unit of the value.
    pub reach: f64,
}

impl Unseen {
    /// The share of these true values that lies outside of limits.
    pub fn outside(&self, value: f64, lower: Option<f64>, upper: Option<f64>) -> f64 {
        let (low, high) = (value.min(value + self.reach), value.max(value + self.reach));
        if high <= low {
            return 0.0;
        }
        let within = upper.map_or(high, |u| u.min(high)) - lower.map_or(low, |l| l.max(low));
        1.0 - (within / (high - low)).clamp(0.0, 1.0)
    }
}

/// How likely one end of a bounce of so many microseconds leaves no trace, where points are means of so many
/// conversions.
pub fn chance(bounce_us: f64, between_conversions_us: f64, conversions: f64) -> f64 {
    let trace = TRACE * conversions;
    // How long a touch is seen: while it lasts, and as long as the filter remembers it.
    let seen_us = |touch_us: f64| {
        let reached = 1.0 - (-touch_us / FILTER_US).exp();
        touch_us + FILTER_US * (reached / trace).ln().max(0.0)
    };
    let unseen = |touch_us: f64| (1.0 - seen_us(touch_us) / between_conversions_us).max(0.0);
    let middles = (0..).map(|n| (f64::from(n) + 0.5) * STEP_US);
    let length_us: f64 = middles
        .take_while(|&touch_us| touch_us < between_conversions_us)
        .map(|touch_us| unseen(touch_us) * STEP_US)
        .sum();
    (CHANGES * length_us / bounce_us).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_xoshiro::Xoshiro256PlusPlus;

    /// Touches drawn one by one, and what a single pole makes of each at the next conversions.
    #[test]
    fn as_often_as_drawn_touches_leave_no_trace() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(4);
        for conversions in [1.0, 4.0] {
            let (bounce_us, every_us, runs) = (2_500.0, 100.0, 400_000);
            let mut unseen = 0;
            for _ in 0..runs {
                // The first of as many instants within the bounce.
                let ends = [(); CHANGES as usize].map(|()| rng.random_range(0.0..bounce_us));
                let touch_us = ends.into_iter().fold(bounce_us, f64::min);
                let next_us = rng.random_range(0.0..every_us);
                let left = if next_us < touch_us {
                    1.0
                } else {
                    let reached = 1.0 - (-touch_us / FILTER_US).exp();
                    reached * (-(next_us - touch_us) / FILTER_US).exp()
                };
                unseen += usize::from(left < TRACE * conversions);
            }
            let (found, wanted) =
                (unseen as f64 / f64::from(runs), chance(bounce_us, every_us, conversions));
            assert!((found / wanted - 1.0).abs() < 0.1, "{conversions}: {found} is not {wanted}");
        }
    }

    #[test]
    fn only_what_reaches_beyond_a_limit_is_outside() {
        let unseen = Unseen { chance: 0.01, reach: -4.0 };
        assert_eq!(unseen.outside(10.0, Some(7.0), Some(12.0)), 0.25);
        assert_eq!(unseen.outside(10.0, Some(5.0), None), 0.0);
        assert_eq!(Unseen { reach: 4.0, ..unseen }.outside(10.0, None, Some(12.0)), 0.5);
        assert_eq!(Unseen::default().outside(10.0, Some(7.0), None), 0.0);
    }
}
