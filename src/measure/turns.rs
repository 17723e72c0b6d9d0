//! The rises of a waveform, from turning point to turning point.
//!
//! A turning point is where the waveform turns back by more than a swing. So noise makes none, nor
//! does a slow edge or a decaying inrush; and a closure that is too short to fill its point of the
//! record still makes one (common practice, no source). Whole blocks in which nothing turns are
//! passed by with two comparisons.

use super::sample::{BLOCK, Sample, extremes};

/// A waveform in shares of its step: 0 is the level before, 1 the level after.
#[derive(Clone, Copy, Debug)]
pub struct StepShares<'a, S> {
    /// The samples.
    pub values: &'a [S],
    before: f64,
    per_unit: f64,
}

impl<'a, S: Sample> StepShares<'a, S> {
    /// The course of a step by `span` from a level.
    pub fn new(values: &'a [S], before: f64, span: f64) -> Self {
        StepShares { values, before, per_unit: 1.0 / span }
    }

    /// The share that a value is.
    pub fn share_of(&self, value: S) -> f64 {
        (value.value() - self.before) * self.per_unit
    }

    /// The share of a sample.
    pub fn share(&self, index: usize) -> f64 {
        self.share_of(self.values[index])
    }

    /// The lowest and the highest share of what lies between two values.
    pub fn shares(&self, (low, high): (S, S)) -> (f64, f64) {
        let (a, b) = (self.share_of(low), self.share_of(high));
        (a.min(b), a.max(b))
    }
}

/// A rise from a turning point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rise {
    /// Where it begins: the lowest sample since the last fall.
    pub low: usize,
    /// The first sample that lies a whole swing above.
    pub seen: usize,
}

/// The lowest or highest share since the last turning point, and the samples among which it is.
#[derive(Clone, Copy, Debug)]
struct Best {
    share: f64,
    from: usize,
    to: usize,
}

impl Best {
    fn one(share: f64, at: usize) -> Self {
        Best { share, from: at, to: at + 1 }
    }

    fn index<S: Sample>(&self, course: &StepShares<'_, S>) -> usize {
        (self.from..self.to).find(|&i| course.share(i) == self.share).unwrap_or(self.from)
    }
}

/// Tells each rise of a course from a sample on; a swing is a share of the step.
pub fn rises<S: Sample>(
    course: &StepShares<'_, S>,
    from: usize,
    swing: f64,
    mut found: impl FnMut(Rise),
) {
    let Some(values) = course.values.get(from..).filter(|values| !values.is_empty()) else {
        return;
    };
    let mut turns = Turns::new(course, from, swing);
    for (at, block) in (from..).step_by(BLOCK).zip(values.chunks(BLOCK)) {
        let Some(ends) = extremes(block) else { return };
        turns.block(course, (at, at + block.len()), course.shares(ends), &mut found);
    }
}

/// The search for rises, block by block.
#[derive(Clone, Copy, Debug)]
pub struct Turns {
    swing: f64,
    best: Best,
    is_rising: bool,
}

impl Turns {
    /// Begins at a sample; a swing is a share of the step.
    pub fn new<S: Sample>(course: &StepShares<'_, S>, from: usize, swing: f64) -> Self {
        Turns { swing, best: Best::one(course.share(from), from), is_rising: false }
    }

    /// Looks at the next samples, `from..to`, of which the shares lie between `low` and `high`.
    /// Tells each rise when it is seen.
    pub fn block<S: Sample>(
        &mut self,
        course: &StepShares<'_, S>,
        (from, to): (usize, usize),
        (low, high): (f64, f64),
        mut found: impl FnMut(Rise),
    ) {
        let best = self.best.share;
        let (extreme, span) = match self.is_rising {
            true => (high, best.max(high) - low),
            false => (low, high - best.min(low)),
        };
        if span <= self.swing {
            if self.goes_on(extreme) {
                self.best = Best { share: extreme, from, to };
            }
            return;
        }
        for i in from..to {
            let here = course.share(i);
            if self.goes_on(here) {
                self.best = Best::one(here, i);
            } else if (here - self.best.share).abs() > self.swing {
                if !self.is_rising {
                    found(Rise { low: self.best.index(course), seen: i });
                }
                self.is_rising = !self.is_rising;
                self.best = Best::one(here, i);
            }
        }
    }

    fn goes_on(&self, share: f64) -> bool {
        if self.is_rising { share > self.best.share } else { share < self.best.share }
    }
}
