//! From a true electrical value to counts: the errors of one very jig, within its class.
//!
//! Every reading of the bench is made here and nowhere else.

use super::draw::{Stream, within};
use super::noise::Noise;
use super::non_linearity::NonLinearity;
use crate::wire::channel::{Description, Kind};
use rand::RngExt;

/// Points of one period of the mains' hum.
const HUM_POINTS: usize = 64;
/// Period of the hum, microseconds (50 Hz).
const HUM_PERIOD_US: u64 = 20_000;

/// More counts than any range reaches below zero.
const FLOOR: f64 = 65_536.0;

/// One channel's way from value to counts.
#[derive(Clone, Debug)]
pub struct Converter {
    gain: f64,
    offset: f64,
    /// Non-linearity: half a bow (one sign) and an S, each with its peak.
    bow: f64,
    s_curve: f64,
    /// A fine one.
    non_linearity: NonLinearity,
    per_span: f64,
    noise_counts: f64,
    hum_counts: f64,
    hum_phase: usize,
    counts_per_unit: f64,
    zero: f64,
    lowest: i32,
    highest: i32,
    /// The last value, and what it is in counts before noise and quantisation: most values stay.
    last: (f64, f64),
}

impl Converter {
    /// Draws the errors of a channel: evenly within its class. `beside` is what is seen at most besides the
    /// value itself: it is part of the offset that the class allows.
    pub fn draw(d: &Description, beside: f64, rng: &mut Stream) -> Self {
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
            offset: within(rng, d.offset_limit - beside / 2.0) - beside / 2.0,
            bow: linearity * share,
            s_curve: linearity * (1.0 - share) * sign,
            non_linearity: NonLinearity::default(),
            per_span: 1.0 / d.maximum,
            noise_counts,
            hum_counts,
            hum_phase: rng.random_range(0..HUM_POINTS),
            counts_per_unit: 1.0 / d.scale,
            zero: d.offset,
            lowest: ((d.minimum - d.offset) / d.scale).round() as i32,
            highest: ((d.maximum - d.offset) / d.scale).round() as i32,
            last: (f64::NAN, 0.0),
        }
    }

    /// Takes up the whole class with a non_linearity non-linearity instead of a smooth one.
    pub(super) fn bend(&mut self, non_linearity: NonLinearity) {
        (self.bow, self.s_curve, self.non_linearity) = (0.0, 0.0, non_linearity);
    }

    /// What the converter makes of a value, before noise and quantisation, in the value's unit.
    pub fn transfer(&self, value: f64) -> f64 {
        let u = (value * self.per_span).clamp(0.0, 1.0);
        // Peaks of one at 1/2, and at (3 ± √3)/6.
        let bow = 4.0 * u * (1.0 - u);
        let s_curve = 6.0 * 3_f64.sqrt() * u * (1.0 - u) * (1.0 - 2.0 * u);
        let smooth = self.bow * bow + self.s_curve * s_curve;
        value * self.gain
            + self.offset
            + smooth
            + self.non_linearity.at(value * self.counts_per_unit)
    }

    /// Looks at a value: conversions are of this one until it looks again.
    #[inline]
    pub fn see(&mut self, value: f64) {
        if value != self.last.0 {
            self.last = (value, (self.transfer(value) - self.zero) * self.counts_per_unit);
        }
    }

    /// One conversion of what it looks at, at a point of the hum.
    #[inline]
    pub fn convert(&self, hum: &Hum, point: usize, noise: &mut Noise) -> i16 {
        let counts = self.last.1
            + self.noise_counts * noise.draw()
            + self.hum_counts * hum.at(point, self.hum_phase);
        // To the nearest: a cast cuts off, and from here on there is nothing below zero.
        let rounded = (counts + FLOOR + 0.5) as i32 - FLOOR as i32;
        rounded.clamp(self.lowest, self.highest) as i16
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

    /// Which point of the period a time falls on.
    pub fn point(&self, at_us: u64) -> usize {
        (at_us % HUM_PERIOD_US) as usize * HUM_POINTS / HUM_PERIOD_US as usize
    }

    fn at(&self, point: usize, phase: usize) -> f64 {
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
                let mut converter = Converter::draw(d, 0.0, &mut rng);
                for non_linearity in [false, true] {
                    for i in 0..=100 {
                        let value = d.maximum * f64::from(i) / 100.0;
                        let error = (converter.transfer(value) - value).abs();
                        let limit = d.gain_limit * value + d.offset_limit + d.linearity_limit;
                        assert!(
                            error <= limit * (1.0 + 1e-9),
                            "{} {non_linearity} at {value}",
                            d.channel
                        );
                    }
                    converter.bend(NonLinearity::draw(d, &[], &mut rng));
                }
            }
        }
    }

    #[test]
    fn not_all_channels_sit_at_the_limit() {
        let mut rng = stream(1, Purpose::Converter);
        let all = describe_all();
        let d = all.iter().find(|d| d.channel == 101).unwrap();
        let gains: Vec<f64> = (0..400)
            .map(|_| (Converter::draw(d, 0.0, &mut rng).gain - 1.0) / d.gain_limit)
            .collect();
        let mean = gains.iter().sum::<f64>() / 400.0;
        let square = gains.iter().map(|g| g * g).sum::<f64>() / 400.0;
        // A rectangular distribution (GUM 4.3.7): mean 0, variance a²/3.
        assert!(mean.abs() < 0.1 && (square - 1.0 / 3.0).abs() < 0.05, "{mean} {square}");
    }

    #[test]
    fn clips_at_the_ends_of_its_range() {
        let all = describe_all();
        let d = all.iter().find(|d| d.channel == 101).unwrap();
        let mut converter = Converter::draw(d, 0.0, &mut stream(3, Purpose::Converter));
        let mut noise = Noise::new(stream(3, Purpose::Noise));
        converter.see(40.0);
        assert_eq!(converter.convert(&Hum::new(), 0, &mut noise), 25_000);
        converter.see(-40.0);
        assert_eq!(converter.convert(&Hum::new(), 0, &mut noise), -2_000);
    }

    #[test]
    fn rounds_to_the_nearest_on_both_sides_of_zero() {
        let all = describe_all();
        let d = all.iter().find(|d| d.channel == 101).unwrap();
        let mut converter = Converter::draw(d, 0.0, &mut stream(3, Purpose::Converter));
        (converter.noise_counts, converter.hum_counts) = (0.0, 0.0);
        let mut noise = Noise::new(stream(3, Purpose::Noise));
        for (counts, want) in [(-2.6, -3), (-2.4, -2), (-0.4, 0), (0.4, 0), (2.4, 2), (2.6, 3)] {
            converter.last.1 = counts;
            assert_eq!(converter.convert(&Hum::new(), 0, &mut noise), want);
        }
    }
}
