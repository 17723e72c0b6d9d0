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
const HUM_PERIOD_US: u32 = 20_000;

/// More counts than noise and hum ever add.
const MARGIN: i32 = 64;

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
    counts_per_unit: f64,
    zero: f64,
    /// The last value: most values stay.
    last: f64,
    held: Held,
}

/// What a converter looks at, with all that a conversion of it needs: so little that a scan of many
/// channels stays at hand.
#[derive(Clone, Copy, Debug)]
pub struct Held {
    /// In counts, before noise and quantisation.
    counts: f64,
    noise_counts: f64,
    hum_counts: f64,
    hum_phase: usize,
    lowest: i32,
    highest: i32,
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
            counts_per_unit: 1.0 / d.scale,
            zero: d.offset,
            last: f64::NAN,
            held: Held {
                counts: 0.0,
                noise_counts,
                hum_counts,
                hum_phase: rng.random_range(0..HUM_POINTS),
                lowest: ((d.minimum - d.offset) / d.scale).round() as i32,
                highest: ((d.maximum - d.offset) / d.scale).round() as i32,
            },
        }
    }

    /// Takes up the whole class with a rough non-linearity instead of a smooth one.
    pub(super) fn bend(&mut self, non_linearity: NonLinearity) {
        (self.bow, self.s_curve, self.non_linearity) = (0.0, 0.0, non_linearity);
    }

    /// Draws the offset anew, evenly within its limit, and what comes and goes with the voltage: anywhere within
    /// a share of that, as long as both together stay within it.
    pub(super) fn shift(&mut self, d: &Description, share: f64, rng: &mut Stream) -> f64 {
        let limit = d.offset_limit;
        self.offset = within(rng, limit);
        let beside = within(rng, share * limit);
        beside.clamp(-limit - self.offset, limit - self.offset)
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
        if value != self.last {
            self.last = value;
            self.held.hold((self.transfer(value) - self.zero) * self.counts_per_unit);
        }
    }

    /// What it looks at.
    pub fn held(&self) -> Held {
        self.held
    }
}

impl Held {
    /// Holds so many counts. Of what lies far beyond the range only that is kept: no conversion tells more.
    fn hold(&mut self, counts: f64) {
        let [lowest, highest] = [self.lowest - MARGIN, self.highest + MARGIN].map(f64::from);
        self.counts = counts.max(lowest).min(highest);
    }

    /// One conversion, at a point of the hum.
    #[inline]
    pub fn convert(&self, hum: &Hum, point: usize, noise: &mut Noise) -> i16 {
        let counts = self.counts
            + self.noise_counts * noise.draw()
            + self.hum_counts * hum.at(point, self.hum_phase);
        nearest(counts).clamp(self.lowest, self.highest) as i16
    }
}

/// The nearest whole number of a number of counts, within ± 65,000.
///
/// A cast takes care of all that a number may be and costs more than the rest of a conversion. Moved up to
/// between 2^17 and 2^18, where bit 35 of the fraction stands for one, a number's whole part is just there.
#[inline]
fn nearest(counts: f64) -> i32 {
    const UP: i32 = 3 << 16;
    const ONE_BIT: u32 = 35;
    let moved = counts + (f64::from(UP) + 0.5);
    let above = (moved.to_bits() >> ONE_BIT) as i32 & ((1 << 17) - 1);
    above + (1 << 17) - UP
}

/// A period of the hum.
#[derive(Clone, Debug)]
pub struct Hum([f64; HUM_POINTS]);

impl Hum {
    /// A sine.
    pub fn new() -> Self {
        Hum(core::array::from_fn(|i| (core::f64::consts::TAU * i as f64 / HUM_POINTS as f64).sin()))
    }

    /// How far into its period a time falls, microseconds.
    pub fn into_period_us(at_us: u64) -> u32 {
        (at_us % u64::from(HUM_PERIOD_US)) as u32
    }

    /// Which point of the period a time in it falls on, also a little beyond its end.
    #[inline]
    pub fn point(into_us: u32) -> usize {
        (into_us % HUM_PERIOD_US) as usize * HUM_POINTS / HUM_PERIOD_US as usize
    }

    #[inline]
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
                    converter.bend(NonLinearity::draw(d, &[], &[0.1; 8], &mut rng));
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
        assert_eq!(converter.held().convert(&Hum::new(), 0, &mut noise), 25_000);
        converter.see(-40.0);
        assert_eq!(converter.held().convert(&Hum::new(), 0, &mut noise), -2_000);
    }

    #[test]
    fn rounds_to_the_nearest_on_both_sides_of_zero() {
        let all = describe_all();
        let d = all.iter().find(|d| d.channel == 101).unwrap();
        let mut converter = Converter::draw(d, 0.0, &mut stream(3, Purpose::Converter));
        (converter.held.noise_counts, converter.held.hum_counts) = (0.0, 0.0);
        let mut noise = Noise::new(stream(3, Purpose::Noise));
        for (counts, want) in [(-2.6, -3), (-2.4, -2), (-0.4, 0), (0.4, 0), (2.4, 2), (2.6, 3)] {
            converter.held.hold(counts);
            assert_eq!(converter.held().convert(&Hum::new(), 0, &mut noise), want);
        }
    }

    /// By the library's own rounding down, and exact at every half.
    #[test]
    fn nearest_is_the_nearest_and_up_from_a_half() {
        let all = (-65_000..65_000).step_by(13).map(f64::from);
        for whole in all.chain([-1.0, 0.0, 1.0]) {
            for beside in [-0.5, -0.499, -0.25, 0.0, 0.25, 0.499, 0.5, 0.501] {
                let counts = whole + beside;
                assert_eq!(f64::from(nearest(counts)), (counts + 0.5).floor(), "{counts}");
            }
        }
    }
}
