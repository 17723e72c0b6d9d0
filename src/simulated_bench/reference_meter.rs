//! The reference meter of the simulated bench: an ammeter better than the jig, with errors of its
//! own within what it states.

use super::draw::{Stream, within};

/// Largest error as a share of the reading …
pub const SHARE: f64 = 0.000_5;
/// … and the fixed part that comes on top, amperes.
pub const FIXED_A: f64 = 0.000_05;
/// Value of its last digit, amperes.
pub const DIGIT_A: f64 = 0.000_01;

/// One very meter.
#[derive(Clone, Copy, Debug)]
pub struct ReferenceMeter {
    share: f64,
    fixed_a: f64,
}

impl ReferenceMeter {
    /// Draws its errors: evenly within what it states.
    pub fn draw(rng: &mut Stream) -> Self {
        ReferenceMeter { share: within(rng, SHARE), fixed_a: within(rng, FIXED_A) }
    }

    /// What it shows for a current.
    pub fn show(&self, ampere: f64) -> f64 {
        let read = ampere * (1.0 + self.share) + self.fixed_a;
        (read / DIGIT_A).round() * DIGIT_A
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulated_bench::draw::{Purpose, stream};

    #[test]
    fn shows_no_more_error_than_it_states() {
        let mut worst: f64 = 0.0;
        for seed in 0..300 {
            let meter = ReferenceMeter::draw(&mut stream(seed, Purpose::Reference));
            for ampere in [0.0, 0.016, 0.3, 1.0] {
                let off = (meter.show(ampere) - ampere).abs();
                let stated = SHARE * ampere + FIXED_A + DIGIT_A / 2.0;
                assert!(off <= stated * (1.0 + 1e-9), "seed {seed} at {ampere}");
                worst = worst.max(off / stated);
            }
        }
        assert!(worst > 0.9, "meters are not all near perfect: {worst}");
    }
}
