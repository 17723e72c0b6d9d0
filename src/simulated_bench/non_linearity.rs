//! A non-linearity that takes up all that a class allows: in steps, each of which lies anywhere within
//! the limit, evenly.
//!
//! Values that lie apart have errors of their own. Values that lie as close as the feed current with the
//! status lamp dark and lit have the same one, as a class allows as well: so a mean over both is off by
//! as much as each of them.

use super::draw::Stream;
use super::world::World;
use crate::jig::board::FeedDrive;
use crate::wire::channel::{CLAMP_CURRENT, Description, FEED_CURRENT, LOAD_VOLTAGE};
use rand::{Rng, RngExt, SeedableRng};
use rand_xoshiro::SplitMix64;

/// A step is so many counts long: fewer than lie between any two values whose difference is measured …
const COUNTS: f64 = 20.0;
/// … also between the voltages before and behind a contact with a small current and without.
const VOLTAGE_COUNTS: f64 = 4.0;
/// Of a clamp's current a step is this share of the most that its load draws: all samples around one level of a rise
/// or of an inrush lie in one step, or two, and those around another level in others.
const SHARE: f64 = 0.06;
/// On the feed current, more than a small lamp draws; and fewer than an auxiliary supply or a coil.
const FEED_COUNTS: f64 = 300.0;

/// So many places of the steps are tried until each pair of values lies in one of them.
const TRIES: usize = 100;

/// The feed current is looked at from here on: the reservoir is full, the lamp blinks …
const BLINKS_US: u64 = 1_500_000;
/// … up to here, a blink later …
const SEEN_US: u64 = 3_000_000;
/// … so often.
const LOOK_US: u64 = 10_000;

/// The steps.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct NonLinearity {
    peak: f64,
    per_step: f64,
    /// What the steps are drawn from.
    key: u64,
}

impl NonLinearity {
    /// Steps of a channel. On the feed current the values of each pair of `together` lie in one of them;
    /// `most_a` is the most that the load at each clamp draws.
    pub fn draw(
        d: &Description,
        together: &[[f64; 2]],
        most_a: &[f64; 8],
        rng: &mut Stream,
    ) -> Self {
        let is_feed = d.channel == FEED_CURRENT;
        let counts = match d.channel {
            FEED_CURRENT => FEED_COUNTS,
            LOAD_VOLTAGE | 401..=408 => VOLTAGE_COUNTS,
            101..=108 => {
                let most_a = most_a[usize::from(d.channel - CLAMP_CURRENT)];
                (SHARE * most_a / d.scale).max(COUNTS / 2.0)
            }
            _ => COUNTS,
        };
        let mut non_linearity =
            NonLinearity { peak: d.linearity_limit, per_step: 1.0 / counts, key: 0 };
        for _ in 0..TRIES {
            non_linearity.key = rng.next_u64();
            let is_one = |&[a, b]: &[f64; 2]| {
                non_linearity.step(a / d.scale) == non_linearity.step(b / d.scale)
            };
            if !is_feed || together.iter().all(is_one) {
                break;
            }
        }
        non_linearity
    }

    fn step(&self, counts: f64) -> i64 {
        // Where in its step zero lies is by chance too.
        let begin = (self.key >> 11) as f64 / (1u64 << 53) as f64;
        (counts * self.per_step + begin).floor() as i64
    }

    /// The error at a value, in the value's unit.
    pub fn at(&self, counts: f64) -> f64 {
        if self.peak == 0.0 {
            return 0.0;
        }
        let step = self.step(counts);
        self.peak * SplitMix64::seed_from_u64(self.key ^ step as u64).random_range(-1.0..=1.0)
    }
}

/// The lowest and the highest feed current at rest, as the lamp blinks, with the slider off and on.
pub(super) fn at_rest(world: &World) -> [[f64; 2]; 2] {
    [false, true].map(|slider| {
        let mut world = world.clone();
        world.set_slider(slider);
        world.set_drive(FeedDrive::Limited);
        world.advance(BLINKS_US);
        let mut ends = [f64::INFINITY, f64::NEG_INFINITY];
        while world.now_us() < SEEN_US {
            world.advance(world.now_us() + LOOK_US);
            let now_a = world.feed.feed_a();
            ends = [ends[0].min(now_a), ends[1].max(now_a)];
        }
        ends
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulated_bench::channels::describe_all;
    use crate::simulated_bench::draw::{Purpose, stream};

    /// Errors of two values that lie together are the same; those of values that lie apart do not
    /// depend on each other; and each is spread evenly: variance a²/3 (GUM 4.3.7), and none between.
    #[test]
    fn the_limit_is_taken_up_evenly() {
        let all = describe_all();
        let d = all.iter().find(|d| d.channel == FEED_CURRENT).unwrap();
        let together = [[0.030, 0.033], [0.060, 0.063]];
        let mut rng = stream(1, Purpose::NonLinearity);
        let (mut square, mut product) = (0.0, 0.0);
        const JIGS: u32 = 4_000;
        for _ in 0..JIGS {
            let non_linearity = NonLinearity::draw(d, &together, &[0.1; 8], &mut rng);
            let error = |value: f64| non_linearity.at(value / d.scale) / d.linearity_limit;
            for [dark, lit] in together {
                assert_eq!(error(dark), error(lit));
            }
            square += error(0.030).powi(2) / f64::from(JIGS);
            product += error(0.030) * error(0.060) / f64::from(JIGS);
        }
        assert!((square - 1.0 / 3.0).abs() < 0.02 && product.abs() < 0.02, "{square} {product}");
    }
}
