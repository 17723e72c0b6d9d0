//! The mean of a current in which a lamp blinks.
//!
//! A mean over a part of a blink says as much about the moment it was taken at as about the
//! current. So it is taken over whole blinks where the window holds one.

use super::channel_class::ChannelClass;
use super::component::Component;
use super::lamp::{self, NoRhythm};
use super::mean::Mean;
use super::scale::Scale;
use super::source::Source;
use super::uncertainty::Estimate;

/// A mean, and what the lamp leaves open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BlinkingMean {
    /// The mean.
    pub mean: Mean,
    /// Half-width of what it may be off because no whole blink was seen; 0 where one was, or where
    /// nothing blinks.
    pub open: f64,
}

impl BlinkingMean {
    /// The mean over all whole blinks in a window; over all of it where there is none. `None` for
    /// fewer than two samples.
    pub fn of(values: &[f32], resolution: f64) -> Option<BlinkingMean> {
        match lamp::whole_cycles(values, resolution) {
            Err(NoRhythm::TooFewCycles) => {
                let levels = super::level::state_levels(values)?;
                let course = lamp::course(values, levels.reference(0.5), &levels);
                let mean = Mean::about(values, course)?;
                Some(BlinkingMean { mean, open: levels.amplitude() / 2.0 })
            }
            Err(_) => Mean::of(values).map(|mean| BlinkingMean { mean, open: 0.0 }),
            Ok((range, levels)) => {
                let part = &values[range];
                let course = lamp::course(part, levels.reference(0.5), &levels);
                let mean = Mean::about(part, course)?;
                Some(BlinkingMean { mean, open: 0.0 })
            }
        }
    }

    /// The mean of the values that counts stand for.
    #[must_use]
    pub fn on(&self, scale: &Scale) -> BlinkingMean {
        BlinkingMean { mean: self.mean.on(scale), open: scale.difference(self.open) }
    }

    /// See [`Mean::estimate`].
    pub fn estimate(&self, class: &ChannelClass) -> Estimate {
        self.mean.estimate(class).with(Component::rectangular(self.open).from(Source::Unsettled))
    }

    /// See [`Mean::less`].
    pub fn less(&self, earlier: &BlinkingMean, class: &ChannelClass) -> Estimate {
        self.mean
            .less(&earlier.mean, class)
            .with(Component::rectangular(self.open).from(Source::Unsettled))
            .with(Component::rectangular(earlier.open).from(Source::Unsettled))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 ms samples of a lamp of 8 mA over 22 mA.
    fn blinking(rate: f64, duty: f64, phase: f64, seconds: f64) -> Vec<f32> {
        (0..(seconds * 1000.0) as usize)
            .map(|i| {
                let lit = (i as f64 * 1e-3 * rate + phase).fract() < duty;
                let wobble = ((i * 7919) % 13) as f64 / 13.0 - 0.5;
                (0.022 + if lit { 0.008 } else { 0.0 } + 2e-4 * wobble) as f32
            })
            .collect()
    }

    /// Closed form: low level + duty · amplitude, wherever in the blink the window begins.
    #[test]
    fn whole_blinks_give_the_same_mean_at_any_phase() {
        for phase in [0.0, 0.13, 0.3, 0.55, 0.81] {
            let v = blinking(1.03, 0.3, phase, 2.4);
            let found = BlinkingMean::of(&v, 1e-5).unwrap();
            assert_eq!(found.open, 0.0);
            assert!((found.mean.value - (0.022 + 0.3 * 0.008)).abs() < 3e-5, "{phase}: {found:?}");
        }
    }

    #[test]
    fn half_a_blink_leaves_half_the_lamp_open() {
        let v = blinking(0.4, 0.5, 0.2, 2.0);
        let found = BlinkingMean::of(&v, 1e-5).unwrap();
        assert!((found.open - 0.004).abs() < 2e-4, "{found:?}");
        assert!((found.mean.value - 0.026).abs() <= found.open);
    }

    #[test]
    fn a_steady_current_is_its_plain_mean() {
        let v = blinking(1.0, 1.0, 0.0, 2.0);
        let found = BlinkingMean::of(&v, 1e-5).unwrap();
        assert_eq!((found.open, Some(found.mean)), (0.0, Mean::of(&v)));
    }
}
