//! What rounding to whole counts leaves open of the mean of many values.
//!
//! Noise carries the values across counts, and their mean with them: of a normal distribution with the standard
//! deviation σ, in counts, the mean of the rounded values is off by (1/π) · exp(−2π²σ²) counts at most (B. Widrow
//! and I. Kollár, *Quantization Noise*, 2008, from memory).

use std::f64::consts::PI;

/// Below this noise more than the first harmonic counts: then it may be half a count.
const LEAST_NOISE: f64 = 0.2;

/// By how many counts the mean of many rounded values is off at most, with noise of so many counts.
pub fn rounding(noise: f64) -> f64 {
    if noise < LEAST_NOISE { 0.5 } else { (-2.0 * PI * PI * noise * noise).exp() / PI }
}

/// The noise of values before they were rounded to whole counts, from the scatter of the rounded ones (Sheppard's
/// correction).
fn before_rounding(scatter: f64) -> f64 {
    (scatter * scatter - 1.0 / 12.0).max(0.0).sqrt()
}

/// The noise of one conversion, in counts, from the scatter of points that are means of so many, rounded.
pub fn conversion_noise(scatter: f64, average: u16) -> f64 {
    before_rounding(scatter) * f64::from(average.max(1)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mean::Mean;
    use rand::{RngExt, SeedableRng};
    use rand_distr::{Distribution, StandardNormal};
    use rand_xoshiro::Xoshiro256PlusPlus;

    /// Means of rounded values of the same normal distribution, wherever in a count it lies.
    #[test]
    fn a_mean_of_rounded_values_is_off_by_no_more() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(5);
        let draws = 100_000;
        for noise in [0.05, 0.2, 0.25, 0.35, 0.5] {
            let mut worst = 0.0_f64;
            for at in 0..20 {
                let middle = f64::from(at) / 20.0;
                let mut value = || {
                    let off: f64 = StandardNormal.sample(&mut rng);
                    (middle + noise * off).round()
                };
                let sum: f64 = (0..draws).map(|_| value()).sum();
                worst = worst.max((sum / f64::from(draws) - middle).abs());
            }
            let chance = 4.0 * (noise * noise + 1.0 / 12.0_f64).sqrt() / f64::from(draws).sqrt();
            assert!(worst <= rounding(noise) + chance, "{noise}: {worst}");
            assert!(worst >= 0.6 * rounding(noise) - chance, "{noise}: {worst}");
        }
    }

    #[test]
    fn the_noise_is_known_again() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(7);
        for noise in [0.6, 1.0, 2.0] {
            let middle: f64 = rng.random_range(0.0..1.0);
            let mut value = || {
                let off: f64 = StandardNormal.sample(&mut rng);
                (middle + noise * off).round() as f32
            };
            let values: Vec<f32> = (0..20_000).map(|_| value()).collect();
            let found = before_rounding(Mean::of(&values).unwrap().deviation);
            assert!((found / noise - 1.0).abs() < 0.02, "{noise}: {found}");
        }
    }
}
