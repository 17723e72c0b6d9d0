//! The coil's pulse in the feed current: how far it rises above the current before it.

use super::budget::Budget;
use super::channel_class::ChannelClass;
use super::component::Component;
use super::mean::Mean;
use super::sample::Sample;
use super::scale::Scale;
use super::source::Source;
use super::uncertainty::Estimate;

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
    let value = scale.difference(best / width as f64 - before.value);
    let moved = scale.difference(moved);
    let before = before.on(scale);
    let noise = before.deviation / (width as f64).sqrt();
    let own = Budget::of(&[
        Component::type_a(before.noise, (before.independent - 1.0).max(1.0)).from(Source::Noise),
        Component::standard(noise).from(Source::Noise),
        Component::rectangular(moved).from(Source::Unsettled),
    ]);
    // The peak and the baseline lie far apart.
    let height = Estimate::of(value, own.plus(&class.between(value)));
    Some(PulsePeak { height, at: start + at + width / 2 })
}

#[cfg(test)]
mod tests {
    use super::*;

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
