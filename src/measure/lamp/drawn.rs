//! What the lamp draws: the mean while it is lit less the mean while it is dark.
//!
//! Both are read from the same record, some counts apart: offset and non-linearity are the same in both (GUM
//! F.1.2.3). What the value of a count leaves open is small where noise carries the points across counts: so much
//! of a count as a mean of rounded values is off at most, (1/π) · exp(−2π²σ²) with the noise σ in counts (B.
//! Widrow, I. Kollár, *Quantization Noise*, 2008, from memory).

use super::levels::{Levels, NEAR};
use crate::measure::budget::Budget;
use crate::measure::component::Component;
use crate::measure::source::Source;
use crate::measure::uncertainty::Estimate;
use std::f64::consts::PI;
use std::ops::Range;

/// The current in the unit of `values`, with what noise and the value of a count (`resolution`) leave open. Points
/// count that lie at a level like both their neighbours, where nothing else draws current (`suspect`).
pub(super) fn drawn(
    values: &[f32],
    levels: &Levels,
    suspect: &[Range<usize>],
    resolution: f64,
) -> Estimate {
    let noise = levels.share_noise * (levels.high - levels.low);
    let mean_at = |level: f64| {
        let is_near = |i: usize| {
            (f64::from(values[i]) - level).abs() <= NEAR * noise
                && !suspect.iter().any(|s| s.contains(&i))
        };
        let points = (1..values.len().saturating_sub(1)).filter(|&i| (i - 1..=i + 1).all(is_near));
        let points: Vec<f64> = points.map(|i| f64::from(values[i])).collect();
        // The level itself is a mean of some points at least.
        if points.is_empty() {
            return (level, 1.0);
        }
        (points.iter().sum::<f64>() / points.len() as f64, points.len() as f64)
    };
    let ((dark, of_dark), (lit, of_lit)) = (mean_at(levels.low), mean_at(levels.high));
    let scatter = noise * (1.0 / of_dark + 1.0 / of_lit).sqrt();
    // The scatter of rounded values holds that of rounding (Sheppard's correction).
    let counts = ((noise / resolution).powi(2) - 1.0 / 12.0).max(0.0).sqrt();
    let rounding = Component::rectangular(resolution * rounding(counts));
    let budget = Budget::of(&[
        Component::type_a(scatter, (of_dark + of_lit - 2.0).max(1.0)).from(Source::Noise),
        rounding.from(Source::Resolution),
        rounding.from(Source::Resolution),
    ]);
    Estimate::of(lit - dark, budget)
}

/// Values that fall on two neighbouring counts scatter by half a count at most, less that of rounding: then nobody
/// knows how much noise there is, or whether it is enough. From here on it is.
const TELLS: f64 = 0.42;

/// By how many counts the mean of rounded values is off at most, with noise of so many counts.
fn rounding(noise: f64) -> f64 {
    if noise < TELLS { 0.5 } else { (-2.0 * PI * PI * noise * noise).exp() / PI }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_distr::{Distribution, StandardNormal};
    use rand_xoshiro::Xoshiro256PlusPlus;

    /// Means of many rounded values of the same normal distribution, wherever in a count it lies.
    #[test]
    fn a_mean_of_rounded_values_is_off_by_no_more() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(5);
        let draws = 400_000;
        for noise in [0.43, 0.5, 0.6] {
            let mut worst = 0.0_f64;
            for at in 0..20 {
                let true_value = f64::from(at) / 20.0;
                let sum: f64 = (0..draws)
                    .map(|_| {
                        let off: f64 = StandardNormal.sample(&mut rng);
                        (true_value + noise * off).round()
                    })
                    .sum();
                worst = worst.max((sum / f64::from(draws) - true_value).abs());
            }
            let limit = rounding(noise);
            let chance = 4.0 * (noise * noise + 1.0 / 12.0_f64).sqrt() / f64::from(draws).sqrt();
            assert!(worst <= limit + chance, "{noise}: {worst}");
        }
    }

    /// Lamps of any height above any level, in whole counts: as often held as stated.
    #[test]
    fn the_current_is_held_as_often_as_stated() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(6);
        let (runs, mut held) = (400, 0);
        for _ in 0..runs {
            let (dark, lamp) = (rng.random_range(100.0..400.0), rng.random_range(20.0..150.0));
            let noise = rng.random_range(0.02..0.8);
            let values: Vec<f32> = (0..1_000)
                .map(|i| {
                    let off: f64 = StandardNormal.sample(&mut rng);
                    let lit = if i % 60 < 20 { lamp } else { 0.0 };
                    (dark + lit + noise * off).round() as f32
                })
                .collect();
            let levels = super::super::levels::two_levels(&values, &[], 1.0).unwrap();
            let found = drawn(&values, &levels, &[], 1.0);
            held += usize::from((found.value - lamp).abs() <= found.expanded());
        }
        let share = held as f64 / f64::from(runs);
        assert!(share >= 0.94, "{share}");
    }
}
