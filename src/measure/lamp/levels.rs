//! The two levels of the lamp among all else that is in the record.

use super::no_rhythm::NoRhythm;
use crate::measure::autocorrelation::Deviations;
use std::ops::Range;

/// Fewest clean samples that tell anything.
const LEAST_SAMPLES: usize = 50;
/// Two levels must be this many standard deviations of the noise apart.
pub(super) const LEAST_SIGNAL: f64 = 6.0;
/// So many apart, no sample is taken for one of the other level.
const CLEAR_SIGNAL: f64 = 10.0;
/// A level holds at least this share of the clean samples.
const LEAST_SHARE: f64 = 0.04;

/// A sample so many standard deviations of the noise from a level is of that level.
pub(super) const NEAR: f64 = 4.5;
/// After so many samples nothing is left of a change …
const SETTLES: usize = 4;
/// … and so many groups of samples beyond that tell the noise.
const LEAST_SETTLED: usize = 20;
/// So many samples lie around a change.
const AROUND: usize = 3;

/// The levels, and how far a sample may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Levels {
    pub low: f64,
    pub high: f64,
    pub tolerance: f64,
    /// Whether they stand clear of the noise, so that each sample tells which one it belongs to.
    pub are_clear: bool,
    /// How far samples scatter about them, as a share of the step between them.
    pub share_noise: f64,
}

/// The two fullest modes of what lies outside `suspect`.
pub(super) fn two_levels(
    values: &[f32],
    suspect: &[Range<usize>],
    resolution: f64,
) -> Result<Levels, NoRhythm> {
    let is_clean = |i: usize| !suspect.iter().any(|s| s.contains(&i));
    let mut clean: Vec<f32> =
        values.iter().enumerate().filter(|(i, _)| is_clean(*i)).map(|(_, &v)| v).collect();
    let noise = noise(values, suspect, resolution).ok_or(NoRhythm::TooShort)?;
    clean.sort_unstable_by(f32::total_cmp);
    let first = fullest(&clean, noise, &[]);
    let away = LEAST_SIGNAL * noise;
    let second = fullest(&clean, noise, &[first.level - away..first.level + away]);
    if second.count < (LEAST_SHARE * clean.len() as f64) as usize || second.count < 4 {
        return Err(NoRhythm::NoChange);
    }
    let (low, high) = if first.level < second.level { (first, second) } else { (second, first) };
    let step = high.level - low.level;
    let tolerance = (NEAR * noise).max(0.2 * step);
    let are_clear = step >= CLEAR_SIGNAL * noise;
    let both = [low.level, high.level];
    let scatter = |noise: f64| scatter(values, is_clean, both, noise).max(least(resolution));
    // Twice: by the median, edges of the lamp may count as noise.
    let share_noise = scatter(scatter(noise)) / step;
    Ok(Levels { low: low.level, high: high.level, tolerance, are_clear, share_noise })
}

/// Standard deviation of the points, by steps between neighbours; `None` for too few of them.
pub(super) fn noise(values: &[f32], suspect: &[Range<usize>], resolution: f64) -> Option<f64> {
    let is_clean = |i: usize| !suspect.iter().any(|s| s.contains(&i));
    let mut steps: Vec<f32> = (1..values.len())
        .filter(|&i| is_clean(i) && is_clean(i - 1))
        .map(|i| (values[i] - values[i - 1]).abs())
        .collect();
    if steps.len() < LEAST_SAMPLES {
        return None;
    }
    // The median of the steps between neighbours knows noise, but neither lamp nor coils:
    // |difference of two normal values| has the median 0.6745 · √2 · σ.
    let middle = steps.len() / 2;
    let median = *steps.select_nth_unstable_by(middle, f32::total_cmp).1;
    Some((f64::from(median) / (0.6745 * 2f64.sqrt())).max(least(resolution)))
}

/// The noise that counts themselves make, a rectangle of one.
fn least(resolution: f64) -> f64 {
    (resolution / 12f64.sqrt()).max(1e-12)
}

/// Standard deviation of the mean of neighbours at one level, as many as lie around a change, times the
/// root of how many: so much of it as belongs to one sample, autocorrelation taken into account.
///
/// Of whole counts, as a jig sends them, the median step is none or one: it tells levels from noise,
/// but not how large that is.
fn scatter(values: &[f32], is_clean: impl Fn(usize) -> bool, levels: [f64; 2], noise: f64) -> f64 {
    let (mut squares, mut count) = (0.0, 0);
    for level in levels {
        let is_near =
            |i: usize| (f64::from(values[i]) - level).abs() <= NEAR * noise && is_clean(i);
        // What a reservoir lets come later than a change is no noise; without room for that, it counts.
        let all_near = |settled: usize| {
            (settled..values.len().saturating_sub(AROUND - 1))
                .filter(move |&i| (i - settled..i + AROUND).all(is_near))
        };
        let settled = if all_near(SETTLES).count() >= LEAST_SETTLED { SETTLES } else { 0 };
        let near = all_near(settled)
            .map(|i| values[i..i + AROUND].iter().map(|&v| f64::from(v)).sum::<f64>());
        let near = Deviations::of(near.collect());
        squares += near.off().iter().map(|off| off * off).sum::<f64>();
        count += near.off().len();
    }
    (squares / (AROUND * count.max(1)) as f64).sqrt()
}

struct Mode {
    level: f64,
    count: usize,
}

/// The window of ± 2 σ that holds most of the sorted values outside `taken`, and their mean.
fn fullest(sorted: &[f32], noise: f64, taken: &[Range<f64>]) -> Mode {
    let width = 4.0 * noise;
    let free = |v: f32| !taken.iter().any(|t| t.contains(&f64::from(v)));
    let mut best = Mode { level: 0.0, count: 0 };
    let mut best_range = 0..0;
    let mut start = 0;
    for end in 0..sorted.len() {
        if !free(sorted[end]) {
            start = end + 1;
            continue;
        }
        while f64::from(sorted[end]) - f64::from(sorted[start]) > width {
            start += 1;
        }
        if end + 1 - start > best.count {
            best.count = end + 1 - start;
            best_range = start..end + 1;
        }
    }
    if best.count > 0 {
        let sum: f64 = sorted[best_range].iter().map(|&v| f64::from(v)).sum();
        best.level = sum / best.count as f64;
    }
    best
}
