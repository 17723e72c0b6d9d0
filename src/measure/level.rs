//! State levels of a two-level waveform.
//!
//! Source: IEEE Std 181-2011, 5.2.2 (histogram, mode in each half of the amplitude range). The mode
//! is refined by the mean of the samples around it, so that the bin's width does not limit it.

/// Bins of the histogram.
const BINS: usize = 256;

/// The two levels of a waveform.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StateLevels {
    /// Level of the lower state.
    pub low: f64,
    /// Level of the higher state.
    pub high: f64,
}

impl StateLevels {
    /// Difference of the levels.
    pub fn amplitude(&self) -> f64 {
        self.high - self.low
    }

    /// The value at a share of the amplitude, 0.5 for the 50 % reference level.
    pub fn reference(&self, share: f64) -> f64 {
        self.low + share * self.amplitude()
    }
}

/// Levels of a waveform with two states; `None` when it is flat or empty.
pub fn state_levels(values: &[f32]) -> Option<StateLevels> {
    let mut lowest = f64::INFINITY;
    let mut highest = f64::NEG_INFINITY;
    for &v in values {
        lowest = lowest.min(f64::from(v));
        highest = highest.max(f64::from(v));
    }
    let range = highest - lowest;
    if range.is_nan() || range <= 0.0 || !range.is_finite() {
        return None;
    }
    let mut counts = [0u32; BINS];
    let mut sums = [0f64; BINS];
    for &v in values {
        let v = f64::from(v);
        let bin = (((v - lowest) / range * BINS as f64) as usize).min(BINS - 1);
        counts[bin] += 1;
        sums[bin] += v;
    }
    let half = BINS / 2;
    Some(StateLevels {
        low: refined_mode(&counts[..half], &sums[..half])?,
        high: refined_mode(&counts[half..], &sums[half..])?,
    })
}

/// Mean of the samples in the fullest three neighbouring bins.
fn refined_mode(counts: &[u32], sums: &[f64]) -> Option<f64> {
    let around = |i: usize| i.saturating_sub(1)..(i + 2).min(counts.len());
    let fullest = (0..counts.len()).max_by_key(|&i| counts[around(i)].iter().sum::<u32>())?;
    let count: u32 = counts[around(fullest)].iter().sum();
    (count > 0).then(|| sums[around(fullest)].iter().sum::<f64>() / f64::from(count))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// IEEE Std 181: the state levels of an ideal two-level waveform are its two values.
    #[test]
    fn a_square_wave_has_its_own_levels() {
        let v: Vec<f32> = (0..1000).map(|i| if i % 100 < 30 { 5.0 } else { 1.0 }).collect();
        let levels = state_levels(&v).unwrap();
        assert_eq!((levels.low, levels.high), (1.0, 5.0));
        assert_eq!(levels.reference(0.5), 3.0);
    }

    /// Overshoot and ringing lie outside the modes and do not move them.
    #[test]
    fn overshoot_does_not_move_the_level() {
        let v: Vec<f32> = (0..2000)
            .map(|i| match i {
                0..1000 => 0.0,
                _ => {
                    let t = f64::from(i - 1000);
                    (1.0 + 0.3 * (-t / 40.0).exp() * (t / 6.0).cos()) as f32
                }
            })
            .collect();
        let levels = state_levels(&v).unwrap();
        assert!((levels.high - 1.0).abs() < 3e-3, "{}", levels.high);
        assert!(levels.low.abs() < 1e-9);
    }

    #[test]
    fn flat_and_empty_have_no_levels() {
        assert_eq!(state_levels(&[]), None);
        assert_eq!(state_levels(&[1.0; 9]), None);
    }

    proptest! {
        #[test]
        fn levels_lie_within_the_samples(v in prop::collection::vec(-10.0f32..10.0, 2..300)) {
            if let Some(levels) = state_levels(&v) {
                let lowest = v.iter().copied().fold(f32::INFINITY, f32::min);
                let highest = v.iter().copied().fold(f32::NEG_INFINITY, f32::max);
                prop_assert!(levels.low >= f64::from(lowest) - 1e-5);
                prop_assert!(levels.high <= f64::from(highest) + 1e-5);
                prop_assert!(levels.low <= levels.high);
            }
        }
    }
}
