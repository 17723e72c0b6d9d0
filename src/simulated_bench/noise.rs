//! White noise for the conversions, of which a run makes millions.
//!
//! Every draw takes one of equally likely quantiles of the normal distribution, so it is normal but
//! for its finest steps and its farthest tails (beyond 3.7 standard deviations).

use super::draw::Stream;
use rand::Rng;
use statrs::distribution::{ContinuousCDF, Normal};
use std::sync::LazyLock;

/// Bits that choose a quantile.
const BITS: u32 = 12;
const QUANTILES: usize = 1 << BITS;
/// Quantiles chosen by one random number.
const DRAWS: u32 = u64::BITS / BITS;

/// The middles of equally likely slices, scaled to a standard deviation of one.
static TABLE: LazyLock<Box<[f32; QUANTILES]>> = LazyLock::new(|| {
    let normal = Normal::standard();
    let middle = |i: usize| normal.inverse_cdf((i as f64 + 0.5) / QUANTILES as f64);
    // Symmetric: the lower half does for both.
    let lower: Vec<f64> = (0..QUANTILES / 2).map(middle).collect();
    let square = lower.iter().map(|z| z * z).sum::<f64>() / lower.len() as f64;
    let at = |i: usize| if i < QUANTILES / 2 { lower[i] } else { -lower[QUANTILES - 1 - i] };
    Box::new(core::array::from_fn(|i| (at(i) / square.sqrt()) as f32))
});

/// A source of noise with a standard deviation of one.
#[derive(Clone, Debug)]
pub struct Noise {
    stream: Stream,
    table: &'static [f32; QUANTILES],
    bits: u64,
    left: u32,
}

impl Noise {
    /// Noise out of a stream of random numbers.
    pub fn new(stream: Stream) -> Self {
        Noise { stream, table: &TABLE, bits: 0, left: 0 }
    }

    /// One value, independent of all others.
    #[inline]
    pub fn draw(&mut self) -> f64 {
        if self.left == 0 {
            self.bits = self.stream.next_u64();
            self.left = DRAWS;
        }
        let quantile = self.bits as usize % QUANTILES;
        self.bits >>= BITS;
        self.left -= 1;
        f64::from(self.table[quantile])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulated_bench::draw::{Purpose, stream};

    fn draws(seed: u64) -> Vec<f64> {
        let mut noise = Noise::new(stream(seed, Purpose::Noise));
        (0..200_000).map(|_| noise.draw()).collect()
    }

    /// Shares within 1, 2 and 3 standard deviations, and the fourth moment of 3: any table of the
    /// normal distribution (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1).
    #[test]
    fn is_normal() {
        let all = draws(1);
        let count = all.len() as f64;
        let moment = |n: i32| all.iter().map(|z| z.powi(n)).sum::<f64>() / count;
        assert!(moment(1).abs() < 0.01 && (moment(2) - 1.0).abs() < 0.015);
        assert!(moment(3).abs() < 0.03 && (moment(4) - 3.0).abs() < 0.1);
        for (within, share) in [(1.0, 0.6827), (2.0, 0.9545), (3.0, 0.9973)] {
            let seen = all.iter().filter(|z| z.abs() < within).count() as f64 / count;
            assert!((seen - share).abs() < 0.004, "{within}: {seen}");
        }
    }

    /// A bound on the autocorrelation of white noise: 4/√n.
    #[test]
    fn is_white() {
        let all = draws(2);
        for lag in 1..=2 * DRAWS as usize {
            let pairs = all.iter().zip(&all[lag..]);
            let product = pairs.map(|(a, b)| a * b).sum::<f64>() / all.len() as f64;
            assert!(product.abs() < 4.0 / (all.len() as f64).sqrt(), "lag {lag}: {product}");
        }
    }
}
