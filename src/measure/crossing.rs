//! Where a waveform crosses a reference level, in samples, and how sure that is.
//!
//! Source: IEEE Std 181-2011, 5.3.3 (reference level instant by linear interpolation between the
//! samples on either side). Between two samples nobody looked. Where the waveform bends one way
//! there, the instant lies between the straight line through the two and the lines through their
//! neighbours on either side, carried on; that is how far it may be off (a closed form of convex
//! functions). An edge between two samples leaves the whole interval: then the instant is its
//! middle, and it lies within half an interval of it.
//!
//! Where noise makes the waveform cross more than once, the instant is the middle of the first and
//! the last crossing.

use super::component::Component;
use super::sample::Sample;
use super::source::Source;
use super::step::LEVEL_DOF;
use super::turns::{Rise, StepShares};

/// What is farther from a level than so many standard deviations of the noise is clear of it.
pub(super) const CLEAR: f64 = 8.0;

/// Where a transition ends, as a share of the step.
pub(super) const END: f64 = 0.9;

/// An instant in samples from the start of the record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// The instant.
    pub at: f64,
    /// Half-width of a rectangle that holds it, for what happens between samples.
    pub half_width: f64,
    /// Standard uncertainty by the noise of the samples.
    pub noise: f64,
    /// Standard uncertainty by that of the level.
    pub threshold: f64,
}

impl Crossing {
    /// An instant that the time between samples alone leaves open.
    pub(super) fn within(at: f64, half_width: f64) -> Self {
        Crossing { at, half_width, noise: 0.0, threshold: 0.0 }
    }

    /// What makes it unsure, in samples.
    pub fn components(&self) -> [Component; 3] {
        [
            Component::rectangular(self.half_width).from(Source::Sampling),
            Component::standard(self.noise).from(Source::Noise),
            Component::type_a(self.threshold, LEVEL_DOF).from(Source::Threshold),
        ]
    }
}

/// Where the straight line from `a` to `b` reaches `level`, as a share of the way. The caller sees
/// to it that the level lies between them.
pub fn interpolate(a: f64, b: f64, level: f64) -> f64 {
    if a == b { 0.0 } else { ((level - a) / (b - a)).clamp(0.0, 1.0) }
}

/// What noise leaves open, in shares of the step.
#[derive(Clone, Copy)]
pub(super) struct Noise {
    /// Standard deviation of one sample.
    pub sample: f64,
    /// Standard uncertainty of the level before, and of the one after.
    pub levels: [f64; 2],
}

/// A rise of a waveform.
#[derive(Clone, Copy)]
pub(super) struct Edge<'a, S> {
    pub course: &'a StepShares<'a, S>,
    pub noise: Noise,
    pub rise: Rise,
    pub swing: f64,
}

impl<S: Sample> Edge<'_, S> {
    pub fn share(&self, index: usize) -> f64 {
        self.course.share(index)
    }

    fn clear(&self, level: f64) -> f64 {
        (CLEAR * self.noise.sample).min(0.5 * level.min(1.0 - level))
    }

    /// The last sample up to `from` that lies at or below a share.
    pub fn below(&self, from: usize, share: f64) -> Option<usize> {
        (0..=from).rev().find(|&i| self.share(i) <= share)
    }

    /// The first sample from `from` on that lies at or above a share.
    fn above(&self, from: usize, share: f64) -> Option<usize> {
        (from..self.course.values.len()).find(|&i| self.share(i) >= share)
    }

    /// The highest sample before the waveform falls by a swing again; the first one that is `enough`
    /// where it gets there.
    pub fn top(&self, enough: f64) -> usize {
        let mut top = self.rise.seen;
        for i in self.rise.seen..self.course.values.len() {
            if self.share(i) > self.share(top) {
                top = i;
            } else if self.share(top) - self.share(i) > self.swing {
                break;
            }
            if self.share(top) >= enough {
                break;
            }
        }
        top
    }

    /// The 50 % instant, where a sample is a single conversion.
    pub fn middle(&self) -> Crossing {
        if self.share(self.rise.low) >= 0.5 {
            // An opening shorter than a point: the contact is closed again at the point's end.
            return Crossing::within(self.rise.low as f64 + 0.5, 0.5);
        }
        let top = self.top(END);
        if self.share(top) < 0.5 {
            // A closure shorter than a point: somewhere in it.
            return Crossing::within(top as f64, 0.5);
        }
        self.passes_half(top)
    }

    /// Where it passes half-way on its way to a sample `top` above.
    pub fn passes_half(&self, top: usize) -> Crossing {
        let clear = self.clear(0.5);
        let below = self.below(self.rise.seen, 0.5 - clear).unwrap_or(self.rise.low);
        let above = self.above(below, 0.5 + clear).unwrap_or(top);
        self.crossing(0.5, below, above)
    }

    /// The last instant before `middle` at which the waveform crosses a level below 50 %.
    pub fn begin(&self, level: f64, middle: &Crossing) -> Option<Crossing> {
        let clear = self.clear(level);
        let below = self.below(middle.at.floor() as usize, level - clear)?;
        let above = self.above(below, level + clear)?;
        Some(self.crossing(level, below, above))
    }

    /// The first instant after `middle` at which the waveform crosses a level above 50 %.
    pub fn end(&self, level: f64, middle: &Crossing) -> Option<Crossing> {
        let clear = self.clear(level);
        let above = self.above(middle.at.ceil() as usize, level + clear)?;
        let below = self.below(above, level - clear)?;
        Some(self.crossing(level, below, above))
    }

    /// Where a level is crossed between a sample that lies clearly below and one clearly above.
    fn crossing(&self, level: f64, below: usize, above: usize) -> Crossing {
        let crosses = |&i: &usize| self.share(i) < level && self.share(i + 1) >= level;
        let first = (below..above).find(crosses).unwrap_or(below);
        let last = (below..above).rev().find(crosses).unwrap_or(first);
        let (at, half_width) = if first == last {
            match self.between(level, first) {
                // Nothing of the edge lies on a sample: no noise can move it.
                (at, half_width) if half_width >= 0.5 && above - below == 1 => {
                    return Crossing::within(at, 0.5);
                }
                found => found,
            }
        } else {
            let at = |i: usize| i as f64 + interpolate(self.share(i), self.share(i + 1), level);
            ((at(first) + at(last)) / 2.0, 0.5)
        };
        let rise = self.share(above) - self.share(below);
        let per_share = above.abs_diff(below).max(1) as f64 / rise.max(f64::MIN_POSITIVE);
        let [before, after] = self.noise.levels;
        let threshold = ((1.0 - level) * before).hypot(level * after) * per_share;
        Crossing { at, half_width, noise: self.noise.sample * per_share, threshold }
    }

    /// The instant between sample `i` and the next one, and the half-width that is left.
    fn between(&self, level: f64, i: usize) -> (f64, f64) {
        let last = self.course.values.len() - 1;
        let (here, next) = (self.share(i), self.share(i + 1));
        let chord = interpolate(here, next, level);
        let from_left = here - self.share(i.saturating_sub(1));
        let from_right = self.share((i + 2).min(last)) - next;
        // A line that falls, or hardly rises, gets there at the far end of the interval.
        let left = if from_left > 0.0 { (level - here) / from_left } else { 1.0 };
        let right = if from_right > 0.0 { 1.0 - (next - level) / from_right } else { 0.0 };
        let (left, right) = (left.clamp(0.0, 1.0), right.clamp(0.0, 1.0));
        let low = chord.min(left).min(right);
        let high = chord.max(left).max(right);
        let at = chord.clamp(high - 0.5, low + 0.5);
        (i as f64 + at, (high - at).max(at - low))
    }
}
