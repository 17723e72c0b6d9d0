//! Random numbers: one stream for each purpose, all from one seed.
//!
//! Separate streams keep the module of a seed the same whatever faults it is given.

use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
pub use rand_xoshiro::Xoshiro256PlusPlus as Stream;

/// What a stream is for.
#[derive(Clone, Copy, Debug)]
pub enum Purpose {
    /// The spread of the module's parts.
    Module = 1,
    /// The spread of leads, supplies, jig loads and real loads.
    Bench = 2,
    /// The errors of the converter.
    Converter = 3,
    /// Which part a fault hits.
    Fault = 4,
    /// What differs from one operation to the next.
    Behaviour = 5,
    /// Noise on the samples.
    Noise = 6,
    /// The errors of the reference meter.
    Reference = 7,
    /// How specimens of one load differ.
    Specimen = 8,
    /// Errors of the converter that use its class up.
    NonLinearity = 9,
    /// When loose joints open and close.
    Joint = 10,
    /// The same errors on another day.
    NonLinearityLater = 11,
}

/// What is drawn from which number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seeds {
    /// The jig, its leads and loads, the reference meter. The serial number tells it.
    pub bench: u64,
    /// The module, and which of its parts a fault hits.
    pub module: u64,
    /// What differs when the same module is tested again: noise, and how each operation goes.
    pub run: u64,
}

impl From<u64> for Seeds {
    /// Everything from one number.
    fn from(seed: u64) -> Self {
        Seeds { bench: seed, module: seed, run: seed }
    }
}

/// The stream of a seed for one purpose.
pub fn stream(seed: u64, purpose: Purpose) -> Stream {
    // Far apart in the generator's own seeding, which mixes all bits (SplitMix64).
    Stream::seed_from_u64(
        seed.rotate_left(8) ^ (purpose as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15),
    )
}

/// Normal about `nominal` with a relative standard deviation, cut off at three of them, as parts
/// are that passed their maker's own test.
pub fn spread(rng: &mut Stream, nominal: f64, relative: f64) -> f64 {
    loop {
        let z: f64 = StandardNormal.sample(rng);
        if z.abs() <= 3.0 {
            return nominal * (1.0 + relative * z);
        }
    }
}

/// Evenly within ± `limit`.
pub fn within(rng: &mut Stream, limit: f64) -> f64 {
    limit * rng.random_range(-1.0..=1.0)
}

/// True in the given share of draws.
pub fn happens(rng: &mut Stream, share: f64) -> bool {
    // The draw is made only where it can go either way, so that sound parts use no randomness.
    share > 0.0 && (share >= 1.0 || rng.random::<f64>() < share)
}
