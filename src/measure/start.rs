//! What a load's current does just after the load was switched on: a peak that decays, or a rise.
//!
//! The instant of switching on lies between two samples: half an interval before the first one with
//! current, give or take that half (a rectangle, GUM 4.3.7). From there the peak is reached by the
//! straight line through the first two samples, since a decaying current was higher before the first
//! of them; what the course bends by between samples is left open on either side. Reference level
//! instants are interpolated linearly (IEEE Std 181).
//!
//! What the gain is off by is in all samples alike, so in the levels too: it moves a current, but no
//! instant (GUM F.1.2.3).

use super::budget::Budget;
use super::channel_class::ChannelClass;
use super::component::Component;
use super::sample::{Sample, extremes};
use super::scale::Scale;
use super::source::Source;
use super::uncertainty::Estimate;

/// Current flows from this share of the highest sample on.
const FLOWS: f64 = 0.1;

/// A decay or a rise of fewer intervals than this is too fast to be read.
const LEAST_INTERVALS: f64 = 4.0;

/// A trace that begins with the load switched on, and what is known of it.
#[derive(Clone, Copy, Debug)]
pub struct StartTrace<'v, S> {
    /// The samples.
    pub values: &'v [S],
    /// What they are in amperes.
    pub scale: Scale,
    /// Time between samples, seconds.
    pub interval_s: f64,
    /// The channel's value without current, amperes.
    pub zero: f64,
    /// The settled current above that, amperes.
    pub settled: f64,
    /// How well the channel is known.
    pub class: ChannelClass,
}

/// What was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// The current at the instant of switching on, amperes.
    pub current: Estimate,
    /// Time until half of what it is above the settled current is gone, seconds; `None` when it is
    /// not gone within the record.
    pub decay: Option<Estimate>,
    /// Whether the decay is long enough for the time between samples.
    pub resolved: bool,
}

impl<S: Sample> StartTrace<'_, S> {
    fn at(&self, i: usize) -> Option<f64> {
        self.values.get(i).map(|&v| self.above_zero(v))
    }

    fn above_zero(&self, sample: S) -> f64 {
        self.scale.value(sample.value()) - self.zero
    }

    /// The first sample with current.
    fn first(&self) -> Option<usize> {
        let most = extremes(self.values).map_or(0.0, |(_, high)| self.above_zero(high));
        if most <= 3.0 * self.class.offset.max(self.class.resolution) {
            return None;
        }
        self.values.iter().position(|&v| self.above_zero(v) > FLOWS * most)
    }

    /// Standard deviation of one sample, from what second differences leave of a smooth course:
    /// their variance is six times that of a sample (J. von Neumann's mean square successive
    /// difference, one order higher).
    fn noise(&self, from: usize) -> f64 {
        let tail = self.values.get(from..).unwrap_or_default();
        let tail = &tail[tail.len() / 2..];
        let second: Vec<f64> =
            tail.windows(3).map(|w| w[0].value() - 2.0 * w[1].value() + w[2].value()).collect();
        let sum: f64 = second.iter().map(|d| d * d).sum();
        self.scale.difference((sum / (6.0 * second.len().max(1) as f64)).sqrt())
    }

    /// Of a sample that passes a level: the converter, and noise.
    fn passing(&self, noise: f64, first: usize) -> Budget {
        let mut budget = Budget::of(&self.class.of_converter());
        budget.add(&Component::type_a(noise, self.dof(first)).from(Source::Noise));
        budget
    }

    /// The peak and its decay; `None` where no current comes.
    pub fn peak(&self) -> Option<Peak> {
        let first = self.first()?;
        let [y0, y1, y2] = [self.at(first)?, self.at(first + 1)?, self.at(first + 2)?];
        let noise = self.noise(first);
        // Never lower than what was seen.
        let step = (y0 - y1).max(0.0);
        let bend = (y0 - 2.0 * y1 + y2).abs();
        let value = y0 + 0.5 * step;
        let shape = Budget::of(&[
            // 1.5 of the first sample less 0.5 of the second.
            Component::type_a(noise * 2.5f64.sqrt(), self.dof(first)).from(Source::Noise),
            Component::rectangular(0.5 * step).from(Source::Sampling),
            Component::rectangular(0.5 * bend).from(Source::Sampling),
        ])
        .plus(&Budget::of(&self.class.of_converter()));
        let gain = Budget::of(&self.class.gain_between(value));
        let current = Estimate::of(value, shape.plus(&gain));
        let decay = self.passes(first, 0.5 * (value + self.settled), false).map(|(at, slope)| {
            let begun = (first as f64 - 0.5) * self.interval_s;
            let level = shape.plus(&Budget::of(&self.class.of_converter())).scaled(0.5 / slope);
            let passing = self.passing(noise, first).scaled(1.0 / slope);
            Estimate::of(at - begun, level.plus(&passing))
                .with(Component::rectangular(0.5 * self.interval_s).from(Source::Sampling))
        });
        let resolved =
            decay.is_some_and(|d: Estimate| d.value >= LEAST_INTERVALS * self.interval_s);
        Some(Peak { current, decay, resolved })
    }

    /// From 10 % to 90 % of the settled current, seconds, and whether the time between samples
    /// resolves it; `None` where it is not reached.
    pub fn rise(&self) -> Option<(Estimate, bool)> {
        let first = self.first().filter(|_| self.settled > 0.0)?;
        // The last sample below 10 %; by the settled current, for noise makes the highest one higher.
        let reached = self.values.iter().position(|&v| self.above_zero(v) >= 0.1 * self.settled)?;
        let begin = reached.saturating_sub(1);
        if let Some(rise) = self.begun_before(begin) {
            return Some((rise, false));
        }
        let (low, slope_low) = self.passes(begin, 0.1 * self.settled, true)?;
        let (high, slope_high) = self.passes(begin, 0.9 * self.settled, true)?;
        // The levels go with the settled current: what that is off by moves both.
        let levels =
            Budget::of(&self.class.of_converter()).scaled(0.9 / slope_high - 0.1 / slope_low);
        let passing = self.passing(self.noise(first), first);
        let passing = passing.scaled(1.0 / slope_low).plus(&passing.scaled(1.0 / slope_high));
        let rise = Estimate::of(high - low, levels.plus(&passing));
        Some((rise, high - low >= LEAST_INTERVALS * self.interval_s))
    }

    /// The rise of a current that had passed 10 % when the sample at `begin` was taken: it did so since
    /// the one before, within an interval. `None` where it had not, or does not reach 90 %.
    fn begun_before(&self, begin: usize) -> Option<Estimate> {
        let early = self.at(begin)?;
        if early < 0.1 * self.settled {
            return None;
        }
        // Both ends lie anywhere between two samples: the course bends too much for a straight line.
        let passed = if early >= 0.9 * self.settled {
            0.5 * self.interval_s
        } else {
            let at = self.passes(begin, 0.9 * self.settled, true)?.0 / self.interval_s;
            (at.ceil() - begin as f64) * self.interval_s
        };
        let unseen = Component::rectangular(passed.min(self.interval_s)).from(Source::Sampling);
        Some(Estimate::new(passed, &[unseen]))
    }

    fn dof(&self, first: usize) -> f64 {
        (self.values.len().saturating_sub(first) as f64 / 2.0 - 2.0).max(1.0)
    }

    /// When the course first passes a level after a sample, in seconds after the first sample of all,
    /// and how steep it is there, in amperes a second.
    fn passes(&self, from: usize, level: f64, rising: bool) -> Option<(f64, f64)> {
        let beyond = |y: f64| if rising { y >= level } else { y <= level };
        let mut before = self.at(from)?;
        if beyond(before) {
            return None;
        }
        for i in from + 1..self.values.len() {
            let now = self.at(i)?;
            if beyond(now) {
                let share = (level - before) / (now - before);
                let at = ((i - 1) as f64 + share) * self.interval_s;
                return Some((at, ((now - before) / self.interval_s).abs()));
            }
            before = now;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::channel_class::Corrected;
    use rand::{RngExt, SeedableRng};
    use rand_distr::{Distribution, StandardNormal};
    use rand_xoshiro::Xoshiro256PlusPlus;

    const CLASS: ChannelClass =
        ChannelClass { resolution: 1e-4, gain: 0.0, offset: 5e-4, linearity: 0.0, corrected: None };

    /// A course that begins at a phase between two samples, after three without current.
    fn sampled(phase: f64, interval: f64, count: usize, of: impl Fn(f64) -> f64) -> Vec<f32> {
        let at = |i: usize| (i as f64 - 3.0 + phase) * interval;
        (0..count).map(|i| if at(i) < 0.0 { 0.0 } else { of(at(i)) as f32 }).collect()
    }

    fn course(values: &[f32], interval_s: f64, settled: f64) -> StartTrace<'_, f32> {
        StartTrace { values, scale: Scale::VALUES, interval_s, zero: 0.0, settled, class: CLASS }
    }

    /// A single pole that decays from 1.2 A to 0.2 A: half is gone after ln 2 time constants.
    #[test]
    fn a_decay_of_a_single_pole_wherever_the_samples_fall() {
        let (tau, dt): (f64, f64) = (0.005, 1e-4);
        for phase in [0.01, 0.3, 0.5, 0.7, 0.99] {
            let values = sampled(phase, dt, 400, |t| 0.2 + (-t / tau).exp());
            let found = course(&values, dt, 0.2).peak().unwrap();
            let off = (found.current.value - 1.2).abs();
            assert!(off <= found.current.expanded(), "{phase}: {off}");
            assert!(found.current.expanded() < 0.03);
            let decay = found.decay.unwrap();
            let off = (decay.value - tau * core::f64::consts::LN_2).abs();
            assert!(off <= decay.expanded() && decay.expanded() < 1.5 * dt, "{phase}: {off}");
            assert!(found.resolved);
        }
    }

    /// A single pole rises from 10 % to 90 % in ln 9 time constants (IEEE Std 181).
    #[test]
    fn a_rise_of_a_single_pole() {
        let (tau, dt): (f64, f64) = (1.2 / 360.0, 1e-4);
        for phase in [0.01, 0.5, 0.99] {
            let values = sampled(phase, dt, 400, |t| -0.033 * (-t / tau).exp_m1());
            let (rise, resolved) = course(&values, dt, 0.033).rise().unwrap();
            assert!((rise.value / (tau * 9f64.ln()) - 1.0).abs() < 1e-3, "{rise:?}");
            assert!(resolved);
        }
    }

    #[test]
    fn what_is_too_fast_or_not_there_is_said() {
        let dt = 1e-4;
        let fast = sampled(0.5, dt, 100, |t| 0.2 + (-t / 1e-4).exp());
        assert!(!course(&fast, dt, 0.2).peak().unwrap().resolved);
        let slow = sampled(0.5, dt, 100, |t| 0.2 + (-t / 1.0).exp());
        assert_eq!(course(&slow, dt, 0.2).peak().unwrap().decay, None);
        assert_eq!(course(&[0.0; 100], dt, 0.2).peak(), None);
        assert_eq!(course(&[], dt, 0.2).rise(), None);
        assert_eq!(course(&[0.1; 2], dt, 0.2).peak(), None);
        assert_eq!(course(&[0.1; 100], dt, 0.2).rise(), None);
    }

    /// A slow rise through noise: the highest sample lies above the settled current, and a sample may lie
    /// between a tenth of the one and a tenth of the other.
    #[test]
    fn a_slow_rise_in_noise_is_read_every_time() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(11);
        let (tau, dt, noise) = (0.05, 2e-4, 1.5e-4);
        for _ in 0..200 {
            let phase = rng.random_range(0.0..1.0);
            let mut values = sampled(phase, dt, 2_000, |t| -0.12 * (-t / tau).exp_m1());
            for v in &mut values {
                let z: f64 = StandardNormal.sample(&mut rng);
                *v += (noise * z) as f32;
            }
            let (rise, resolved) = course(&values, dt, 0.12).rise().expect("a rise");
            // Five standard deviations of the noise where it is flattest, at 90 %.
            let most = 5.0 * noise / (0.1 * 0.12 / tau);
            assert!(resolved && (rise.value - tau * 9f64.ln()).abs() < most, "{rise:?}");
        }
    }

    /// A coil that is half up, or all the way, when the first sample is taken has a current all the same:
    /// its rise is too fast to be judged, and the interval that is stated holds it.
    #[test]
    fn a_rise_that_began_before_the_first_sample_is_too_fast() {
        let (tau, dt): (f64, f64) = (5e-5, 1e-4);
        for late in [0.2e-4, 0.5e-4, 0.9e-4] {
            let values: Vec<f32> = (0..50)
                .map(|i| (-0.1 * (-(late + f64::from(i) * dt) / tau).exp_m1()) as f32)
                .collect();
            let (rise, resolved) = course(&values, dt, 0.1).rise().unwrap();
            assert!(!resolved);
            let truth = tau * 9f64.ln();
            assert!((rise.value - truth).abs() <= rise.expanded(), "{late}: {rise:?}");
        }
    }

    /// Monte Carlo: a gain that is drawn turns all samples and the settled current by one share. The
    /// times stay as they are, and their uncertainty is that of a channel without any gain error;
    /// the current's is not.
    #[test]
    fn the_gain_moves_no_instant() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(5);
        let (tau, dt) = (0.004, 1e-4);
        let left = Corrected { gain: 0.02, gain_drift: 0.05, ..Corrected::default() };
        let classes = [
            CLASS,
            ChannelClass { gain: 0.05, ..CLASS },
            ChannelClass { corrected: Some(left), ..CLASS },
        ];
        for _ in 0..200 {
            let (phase, gain) = (rng.random_range(0.0..1.0), rng.random_range(0.95..1.05));
            let lamp = |t: f64| 0.15 + (-t / tau).exp();
            let coil = |t: f64| -0.3 * (-t / tau).exp_m1();
            let read = |class, gain: f64| {
                let lamp = sampled(phase, dt, 400, |t| gain * lamp(t));
                let coil = sampled(phase, dt, 400, |t| gain * coil(t));
                let peak = StartTrace { class, ..course(&lamp, dt, gain * 0.15) }.peak().unwrap();
                let rise = StartTrace { class, ..course(&coil, dt, gain * 0.3) }.rise().unwrap().0;
                (peak.current, [peak.decay.unwrap(), rise])
            };
            let (current, times) = read(CLASS, 1.0);
            for class in classes {
                let (_, turned) = read(class, gain);
                let (wider, stated) = read(class, 1.0);
                assert!(class == CLASS || wider.standard > 1.1 * current.standard);
                for ((time, turned), stated) in times.iter().zip(turned).zip(stated) {
                    assert!((time.value - turned.value).abs() < 1e-4 * dt, "{time:?} {turned:?}");
                    assert_eq!(time.standard, stated.standard, "{class:?}");
                }
            }
        }
    }

    /// With noise, and an instant anywhere between two samples, the interval holds the truth as often
    /// as it says.
    #[test]
    fn the_uncertainty_is_that_of_the_readings() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(3);
        let (tau, dt, noise) = (0.004, 1e-4, 2e-3);
        let (runs, mut peaks, mut decays) = (2_000, 0, 0);
        for _ in 0..runs {
            let phase = rng.random_range(0.0..1.0);
            let mut values = sampled(phase, dt, 200, |t| 0.15 + (-t / tau).exp());
            for v in &mut values {
                let z: f64 = StandardNormal.sample(&mut rng);
                *v += (noise * z) as f32;
            }
            let found = course(&values, dt, 0.15).peak().unwrap();
            peaks += u32::from((found.current.value - 1.15).abs() <= found.current.expanded());
            let decay = found.decay.unwrap();
            let truth = tau * core::f64::consts::LN_2;
            decays += u32::from((decay.value - truth).abs() <= decay.expanded());
        }
        for held in [peaks, decays] {
            let share = f64::from(held) / f64::from(runs);
            assert!(share >= 0.94, "{share}");
        }
    }
}
