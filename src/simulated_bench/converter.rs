//! From a true electrical value to counts: the errors of one very jig, within its class.
//!
//! Every reading of the bench is made here and nowhere else.

use super::draw::{Stream, within};
use crate::wire::channel::{Description, Kind};
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};

/// Points of one period of the mains' hum.
const HUM_POINTS: usize = 64;
/// Period of the hum, microseconds (50 Hz).
const HUM_PERIOD_US: u64 = 20_000;

/// One channel's way from value to counts.
#[derive(Clone, Debug)]
pub struct Converter {
    gain: f64,
    offset: f64,
    /// Non-linearity: half a bow (one sign) and an S, each with its peak.
    bow: f64,
    s_curve: f64,
    per_span: f64,
    noise_counts: f64,
    hum_counts: f64,
    hum_phase: usize,
    counts_per_unit: f64,
    zero: f64,
    lowest: f64,
    highest: f64,
}

impl Converter {
    /// Draws the errors of a channel: evenly within its class.
    pub fn draw(d: &Description, rng: &mut Stream) -> Self {
        let share: f64 = rng.random();
        let linearity = within(rng, d.linearity_limit);
        let sign = if rng.random::<bool>() { 1.0 } else { -1.0 };
        // Noise of a good 16-bit converter behind an amplifier: a count or two.
        let (noise_counts, hum_counts) = match d.kind {
            Kind::Voltage | Kind::Current => (1.5, 0.4),
            Kind::Resistance => (2.0, 0.0),
            Kind::Switch | Kind::Input => (0.0, 0.0),
        };
        Converter {
            gain: 1.0 + within(rng, d.gain_limit),
            offset: within(rng, d.offset_limit),
            bow: linearity * share,
            s_curve: linearity * (1.0 - share) * sign,
            per_span: 1.0 / d.maximum,
            noise_counts,
            hum_counts,
            hum_phase: rng.random_range(0..HUM_POINTS),
            counts_per_unit: 1.0 / d.scale,
            zero: d.offset,
            lowest: ((d.minimum - d.offset) / d.scale).round(),
            highest: ((d.maximum - d.offset) / d.scale).round(),
        }
    }

    /// What the converter makes of a value, before noise and quantisation, in the value's unit.
    pub fn transfer(&self, value: f64) -> f64 {
        let u = (value * self.per_span).clamp(0.0, 1.0);
        // Peaks of one at 1/2, and at (3 ± √3)/6.
        let bow = 4.0 * u * (1.0 - u);
        let s_curve = 6.0 * 3_f64.sqrt() * u * (1.0 - u) * (1.0 - 2.0 * u);
        value * self.gain + self.offset + self.bow * bow + self.s_curve * s_curve
    }

    /// One conversion at time `at_us`.
    pub fn convert(&self, value: f64, at_us: u64, hum: &Hum, noise: &mut Stream) -> i16 {
        let z: f64 = StandardNormal.sample(noise);
        let counts = (self.transfer(value) - self.zero) * self.counts_per_unit
            + self.noise_counts * z
            + self.hum_counts * hum.at(at_us, self.hum_phase);
        // The range of a channel lies within `i16`; a cast cuts off, so half a count rounds.
        (counts.clamp(self.lowest, self.highest) + 0.5_f64.copysign(counts)) as i16
    }
}

/// A period of the hum.
#[derive(Clone, Debug)]
pub struct Hum([f64; HUM_POINTS]);

impl Hum {
    /// A sine.
    pub fn new() -> Self {
        Hum(core::array::from_fn(|i| (core::f64::consts::TAU * i as f64 / HUM_POINTS as f64).sin()))
    }

    fn at(&self, at_us: u64, phase: usize) -> f64 {
        let point = (at_us % HUM_PERIOD_US) as usize * HUM_POINTS / HUM_PERIOD_US as usize;
        self.0[(point + phase) % HUM_POINTS]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulated_bench::channels::describe_all;
    use crate::simulated_bench::draw::{Purpose, stream};

    #[test]
    fn errors_stay_within_the_class() {
        for seed in 0..200 {
            let mut rng = stream(seed, Purpose::Converter);
            for d in describe_all().iter().filter(|d| d.interval_us > 0) {
                let converter = Converter::draw(d, &mut rng);
                for i in 0..=100 {
                    let value = d.maximum * f64::from(i) / 100.0;
                    let error = (converter.transfer(value) - value).abs();
                    let limit = d.gain_limit * value + d.offset_limit + d.linearity_limit;
                    assert!(error <= limit * (1.0 + 1e-9), "{} at {value}", d.channel);
                }
            }
        }
    }

    #[test]
    fn not_all_channels_sit_at_the_limit() {
        let mut rng = stream(1, Purpose::Converter);
        let all = describe_all();
        let d = all.iter().find(|d| d.channel == 101).unwrap();
        let gains: Vec<f64> =
            (0..400).map(|_| (Converter::draw(d, &mut rng).gain - 1.0) / d.gain_limit).collect();
        let mean = gains.iter().sum::<f64>() / 400.0;
        let square = gains.iter().map(|g| g * g).sum::<f64>() / 400.0;
        // A rectangular distribution (GUM 4.3.7): mean 0, variance a²/3.
        assert!(mean.abs() < 0.1 && (square - 1.0 / 3.0).abs() < 0.05, "{mean} {square}");
    }

    #[test]
    fn clips_at_the_ends_of_its_range() {
        let all = describe_all();
        let d = all.iter().find(|d| d.channel == 101).unwrap();
        let converter = Converter::draw(d, &mut stream(3, Purpose::Converter));
        let mut noise = stream(3, Purpose::Noise);
        assert_eq!(converter.convert(40.0, 0, &Hum::new(), &mut noise), 25_000);
        assert_eq!(converter.convert(-40.0, 0, &Hum::new(), &mut noise), -2_000);
    }
}
