//! The coil's pulse in the feed current: how far it rises above the current before it.

use super::budget::Budget;
use super::channel_class::ChannelClass;
use super::component::Component;
use super::mean::Mean;
use super::sample::Sample;
use super::scale::Scale;
use super::source::Source;
use super::uncertainty::Estimate;
use statrs::distribution::{ContinuousCDF, Normal};

/// A pulse above a baseline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PulsePeak {
    /// Peak above the baseline, in the trace's unit.
    pub height: Estimate,
    /// Index of the peak.
    pub at: usize,
}

/// The highest mean of `width` neighbouring samples after `start`, above the mean before `start`.
///
/// A running mean stands for the peak so that one noisy sample does not; a pulse shorter than
/// `width` samples is read too low, so `width` is kept well below the pulse's length. A baseline
/// that has moved by the end of the record (a lamp has switched meanwhile) adds that move to the
/// uncertainty. `None` when there are too few samples.
pub fn pulse_peak<S: Sample>(
    values: &[S],
    scale: &Scale,
    start: usize,
    width: usize,
    class: &ChannelClass,
) -> Option<PulsePeak> {
    let before = Mean::of(values.get(..start)?)?;
    let after = values.get(start..)?;
    let width = width.max(1);
    if after.len() < 2 * width {
        return None;
    }
    let end = Mean::of(&after[after.len() - (after.len() / 10).max(width).min(after.len())..]);
    let moved = end.map_or(0.0, |end| end.value - before.value);

    let mut sum: f64 = after[..width].iter().map(|v| v.value()).sum();
    let (mut best, mut at) = (sum, 0);
    for i in width..after.len() {
        sum += after[i].value() - after[i - width].value();
        if sum > best {
            (best, at) = (sum, i + 1 - width);
        }
    }
    let found = scale.difference(best / width as f64 - before.value);
    let moved = scale.difference(moved);
    let deviation = before.deviation / (width as f64).sqrt();
    let flat = after.chunks_exact(width).filter(|w| {
        let sum: f64 = w.iter().map(|v| v.value()).sum();
        (best - sum) / width as f64 <= NEAR * deviation
    });
    let before = before.on(scale);
    let noise = before.deviation / (width as f64).sqrt();
    // The highest of many means of one height is one that noise has lifted.
    let lifted = noise * highest_of(flat.count());
    let value = found - lifted;
    let own = Budget::of(&[
        Component::type_a(before.noise, (before.independent - 1.0).max(1.0)).from(Source::Noise),
        Component::standard(noise).from(Source::Noise),
        Component::rectangular(lifted).from(Source::Noise),
        Component::rectangular(moved).from(Source::Unsettled),
    ]);
    // The peak and the baseline lie far apart.
    let height = Estimate::of(value, own.plus(&class.between(value)));
    Some(PulsePeak { height, at: start + at + width / 2 })
}

/// Means that lie so many of their standard deviations below the highest one may be of the same height.
const NEAR: f64 = 4.0;

/// By how many standard deviations the highest of so many normal values lies above their mean (G. Blom,
/// *Statistical Estimates and Transformed Beta-Variables*, 1958; from memory).
fn highest_of(count: usize) -> f64 {
    let n = count.max(1) as f64;
    Normal::standard().inverse_cdf((n - 0.375) / (n + 0.25)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};
    use rand_xoshiro::Xoshiro256PlusPlus;

    /// Expected values of the largest of n standard normal values (H. L. Harter, *Biometrika* 48 (1961) 151;
    /// from memory): 0.564 of two, 1.163 of five, 1.539 of ten, 1.867 of twenty.
    #[test]
    fn the_highest_of_many_lies_where_order_statistics_say() {
        for (n, wanted) in [(1, 0.0), (2, 0.564), (5, 1.163), (10, 1.539), (20, 1.867)] {
            let found = highest_of(n);
            assert!((found - wanted).abs() < 0.03, "{n}: {found} is not {wanted}");
        }
    }

    /// A long flat pulse in noise: not read too high on the mean, and held as often as stated.
    #[test]
    fn noise_does_not_lift_a_pulse() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(11);
        let (runs, mut held, mut bias) = (2_000, 0, 0.0);
        for _ in 0..runs {
            let v: Vec<f32> = (0..500)
                .map(|i| {
                    let noise: f64 = StandardNormal.sample(&mut rng);
                    (if (150..400).contains(&i) { 100.0 } else { 0.0 } + noise) as f32
                })
                .collect();
            let p = pulse_peak(&v, &Scale::VALUES, 100, 5, &ChannelClass::default()).unwrap();
            held += usize::from((p.height.value - 100.0).abs() <= p.height.expanded());
            bias += (p.height.value - 100.0) / f64::from(runs);
        }
        let share = held as f64 / f64::from(runs);
        assert!(bias.abs() < 0.25 && share >= 0.94, "{bias} {share}");
    }

    #[test]
    fn a_rectangular_pulse_has_its_height() {
        let v: Vec<f32> =
            (0..500).map(|i| 0.03 + if (200..300).contains(&i) { 0.25 } else { 0.0 }).collect();
        let p = pulse_peak(&v, &Scale::VALUES, 100, 5, &ChannelClass::default()).unwrap();
        assert!((p.height.value - 0.25).abs() < 1e-6);
        assert!(p.height.standard < 1e-6 && (200..300).contains(&p.at));
    }

    /// Closed form: the mean of a triangle over a small width at its top is lower than the top by a
    /// quarter of what it falls in that width.
    #[test]
    fn a_triangle_is_read_low_by_a_quarter_of_the_fall() {
        let v: Vec<f32> =
            (0..2001).map(|i| 1.0 - (f64::from(i) - 1000.0).abs() as f32 / 1000.0).collect();
        let p = pulse_peak(&v[..], &Scale::VALUES, 2, 101, &ChannelClass::default()).unwrap();
        assert!((p.height.value + 0.0005 - (1.0 - 0.101 / 4.0)).abs() < 1e-3, "{p:?}");
    }

    #[test]
    fn a_moved_baseline_widens_the_uncertainty() {
        let v: Vec<f32> = (0..500)
            .map(|i| match i {
                200..300 => 0.3,
                300.. => 0.02,
                _ => 0.0,
            })
            .collect();
        let p = pulse_peak(&v, &Scale::VALUES, 100, 5, &ChannelClass::default()).unwrap();
        assert!((p.height.standard - 0.02 / 3f64.sqrt()).abs() < 1e-6);
    }

    #[test]
    fn too_short_gives_nothing() {
        assert!(pulse_peak(&[0.0; 10], &Scale::VALUES, 5, 4, &ChannelClass::default()).is_none());
        assert!(pulse_peak(&[0.0; 10], &Scale::VALUES, 0, 4, &ChannelClass::default()).is_none());
    }
}
