//! The mean of a settled window, with its uncertainty.
//!
//! Sources: JCGM 100:2008 (GUM) 4.2 and 4.3.7; samples that depend on each other as in
//! [`autocorrelation`](super::autocorrelation). The number of independent samples that this leaves,
//! less one, is taken as the degrees of freedom.

use super::autocorrelation::Deviations;
use super::budget::{Budget, Source};
use super::channel_class::ChannelClass;
use super::component::Component;
use super::sample::Sample;
use super::scale::Scale;
use super::settled::drift;
use super::uncertainty::Estimate;

/// A mean over a window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mean {
    /// The mean.
    pub value: f64,
    /// Experimental standard deviation of one sample.
    pub deviation: f64,
    /// Standard uncertainty of the mean by noise alone, autocorrelation taken into account.
    pub noise: f64,
    /// How many independent samples the window is worth.
    pub independent: f64,
    /// How far the values drift over the window (0 where it is not more than noise).
    pub drift: f64,
}

impl Mean {
    /// The mean of a window; `None` for fewer than two samples.
    pub fn of<S: Sample>(values: &[S]) -> Option<Mean> {
        Mean::about(values, |_| 0.0)
    }

    /// The mean of a window in which a known course repeats: `course` gives the level that each
    /// sample belongs to. The mean is that of the samples; the noise is that of what is left when
    /// the course is taken away.
    pub fn about<S: Sample>(values: &[S], course: impl Fn(usize) -> f64) -> Option<Mean> {
        let n = values.len();
        if n < 2 {
            return None;
        }
        let nf = n as f64;
        let value = values.iter().map(|v| v.value()).sum::<f64>() / nf;
        let left = values.iter().enumerate().map(|(i, v)| v.value() - course(i));
        let left = Deviations::of(left.collect());
        let (deviation, inflation) = (left.standard(), left.inflation());
        let independent = (nf / inflation).clamp(1.0, nf);
        Some(Mean {
            value,
            deviation,
            noise: deviation / independent.sqrt(),
            independent,
            drift: drift(left.off(), inflation),
        })
    }

    /// The mean of the values that counts stand for.
    #[must_use]
    pub fn on(&self, scale: &Scale) -> Mean {
        Mean {
            value: scale.value(self.value),
            deviation: scale.difference(self.deviation),
            noise: scale.difference(self.noise),
            independent: self.independent,
            drift: scale.difference(self.drift),
        }
    }

    /// The contributions that stem from this window and not from the channel.
    fn noise_component(&self) -> Component {
        Component::type_a(self.noise, (self.independent - 1.0).max(1.0)).from(Source::Noise)
    }

    /// The value with its uncertainty: noise, drift within the window, resolution, non-linearity,
    /// offset and gain by calibration, else by class.
    pub fn estimate(&self, class: &ChannelClass) -> Estimate {
        let [calibration, offset, gain] = class.offset_and_gain(self.value);
        let [resolution, linearity] = class.of_converter();
        Estimate::new(
            self.value,
            &[
                self.noise_component(),
                Component::rectangular(self.drift / 2.0).from(Source::Unsettled),
                resolution,
                linearity,
                calibration,
                offset,
                gain,
            ],
        )
    }

    /// This mean less an earlier one of the same channel. The offset falls out, the gain error acts
    /// on the difference alone (GUM F.1.2.3: the same influence in both); resolution and
    /// non-linearity stay in both.
    pub fn less(&self, earlier: &Mean, class: &ChannelClass) -> Estimate {
        let value = self.value - earlier.value;
        let own = Budget::of(&[
            self.noise_component(),
            earlier.noise_component(),
            Component::rectangular(self.drift / 2.0).from(Source::Unsettled),
            Component::rectangular(earlier.drift / 2.0).from(Source::Unsettled),
        ]);
        Estimate::of(value, own.plus(&class.between(value)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};
    use rand_xoshiro::Xoshiro256PlusPlus;

    fn close(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted}");
    }

    /// JCGM 100:2008, example 4.4.3: twenty temperatures; mean 100.145 °C, s 1.489 °C, u 0.333 °C.
    #[test]
    fn gum_twenty_temperatures() {
        let v = [
            96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42,
            100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
        ];
        // The example lists the values in rising order; independent readings come in no order.
        let mixed: Vec<f32> = (0..20).map(|i| v[(i * 7) % 20] as f32).collect();
        let mean = Mean::of(&mixed).unwrap();
        close(mean.value, 100.145, 1e-3);
        close(mean.deviation, 1.489, 1e-3);
        close(mean.deviation / 20f64.sqrt(), 0.333, 1e-3);
    }

    /// First-order autoregression: the variance of a mean grows by (1 + φ) / (1 − φ) for many
    /// samples (Box, Jenkins and Reinsel, "Time Series Analysis", 2.1.5 and 3.2).
    #[test]
    fn autocorrelated_noise_widens_the_mean_as_the_closed_form_says() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(7);
        for phi in [0.0, 0.5, 0.8] {
            let (runs, n) = (60, 2000);
            let mut ratio = 0.0;
            for _ in 0..runs {
                let mut x = 0.0;
                let v: Vec<f32> = (0..n + 200)
                    .map(|_| {
                        let e: f64 = StandardNormal.sample(&mut rng);
                        x = phi * x + e;
                        x as f32
                    })
                    .skip(200)
                    .collect();
                let mean = Mean::of(&v).unwrap();
                ratio += (n as f64 / mean.independent) / f64::from(runs);
            }
            let wanted = (1.0 + phi) / (1.0 - phi);
            close(ratio / wanted, 1.0, 0.12);
        }
    }

    /// JCGM 101 in small: over many records the expanded uncertainty holds the truth in about 95 %
    /// of them, for white noise and for noise that remembers.
    #[test]
    fn the_expanded_uncertainty_covers_the_truth_as_often_as_it_says() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(3);
        for phi in [0.0, 0.6] {
            let (runs, mut inside) = (2000, 0);
            for _ in 0..runs {
                let mut x = 0.0;
                let v: Vec<f32> = (0..250)
                    .map(|_| {
                        let e: f64 = StandardNormal.sample(&mut rng);
                        x = phi * x + e;
                        (5.0 + x) as f32
                    })
                    .skip(50)
                    .collect();
                let e = Mean::of(&v).unwrap().estimate(&ChannelClass::default());
                inside += usize::from((e.value - 5.0).abs() <= e.expanded());
            }
            let share = inside as f64 / f64::from(runs);
            assert!((0.93..=0.98).contains(&share), "φ = {phi}: {share}");
        }
    }

    #[test]
    fn the_channel_class_enters_as_rectangles() {
        let mean = Mean::of(&[2.0f32; 50]).unwrap();
        let class = ChannelClass {
            resolution: 0.01,
            gain: 0.005,
            offset: 0.002,
            linearity: 0.001,
            with_voltage: 0.0,
            corrected: None,
        };
        let wanted = ((0.005f64.powi(2) + 0.01f64.powi(2) + 0.002f64.powi(2) + 0.001f64.powi(2))
            / 3.0)
            .sqrt();
        let e = mean.estimate(&class);
        close(e.standard, wanted, 1e-12);
        close(e.expanded(), 1.959_964 * wanted, 1e-8);
    }

    #[test]
    fn a_difference_on_one_channel_loses_the_offset() {
        let class = ChannelClass { offset: 1.0, gain: 0.01, ..ChannelClass::default() };
        let (a, b) = (Mean::of(&[5.0f32; 9]).unwrap(), Mean::of(&[4.0f32; 9]).unwrap());
        let e = a.less(&b, &class);
        close(e.value, 1.0, 0.0);
        close(e.standard, 0.01 / 3f64.sqrt(), 1e-12);
        // But for what of it comes with the voltage.
        let e = a.less(&b, &ChannelClass { with_voltage: 0.02, ..class });
        close(e.standard, (0.01f64.powi(2) + 0.02f64.powi(2)).sqrt() / 3f64.sqrt(), 1e-12);
    }

    #[test]
    fn a_known_course_is_no_noise() {
        let level = |i: usize| if (i / 50).is_multiple_of(2) { 0.1 } else { 0.3 };
        let v: Vec<f32> = (0..400).map(|i| level(i) as f32).collect();
        let plain = Mean::of(&v).unwrap();
        let about = Mean::about(&v, level).unwrap();
        close(about.value, plain.value, 1e-12);
        assert!(about.noise < 1e-6 && plain.noise > 0.01);
    }
}
