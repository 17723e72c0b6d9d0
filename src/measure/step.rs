//! The two levels of a step: before anything moved, and at the end of the record.
//!
//! Source: IEEE Std 181-2011, 5.2 (state levels; here from a stretch of the waveform that is known
//! to be in the state, since an inrush or a decay would draw a histogram's mode away from the final
//! level). How sure a level is comes from the means of eight batches (J. Banks, J. S. Carson, B. L.
//! Nelson and D. M. Nicol, "Discrete-Event System Simulation", 11.5.2: batch means): hum and noise
//! that remembers are in them, and nothing is allocated.

use super::sample::{Sample, extremes};
use super::settled::tail;
use thiserror::Error;

/// Share of the record at its end that gives the final level.
const FINAL: f64 = 0.15;
/// Batches of a level.
const BATCHES: usize = 8;
/// Fewest samples of a level: two a batch.
const LEAST_SAMPLES: usize = 2 * BATCHES;
/// A difference of the levels below so many standard deviations of the noise is no step.
const LEAST_SIGNAL: f64 = 8.0;
/// A level that drifts over its stretch by more than this share of the step is none.
pub(super) const STEADY: f64 = 0.02;
/// A slope below so many of its own standard deviations is no drift.
const LEAST_DRIFT: f64 = 5.0;

/// What is known of a waveform before it is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// The first sample at which anything may move; those before it give the level before.
    pub start: usize,
    /// The smallest difference of the levels that is a step, in the unit of the samples.
    pub least: f64,
    /// Value of one count.
    pub resolution: f64,
    /// The lowest and the highest value that the channel can tell; one that stands there may lie
    /// anywhere beyond.
    pub range: (f64, f64),
}

/// Why there is no step to be measured.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum NoStep {
    /// Too few samples before, or at the end.
    #[error("the record is too short to tell the level before and the one after")]
    TooShort,
    /// An infinite sample, or none.
    #[error("the record holds values that are no numbers")]
    NoNumber,
    /// A level stands at an end of the range.
    #[error("the level {0} the step is cut off at an end of what the channel can tell")]
    Clipped(State),
    /// Both levels are the same.
    #[error("the step never came: the level is the same before and after")]
    NeverCame,
    /// The level before was none.
    #[error("the level already moved before it should, by {:.1} % of the step", 100.0 * share)]
    NeverStill {
        /// How far, as a share of the step.
        share: f64,
    },
    /// The level after is none yet.
    #[error("it had not settled at the end of the record: {:.1} % of the step off", 100.0 * share)]
    NeverSettled {
        /// How far off it still was, or moved, as a share of the step.
        share: f64,
    },
}

/// One of the two states of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Before it.
    Before,
    /// After it.
    After,
}

impl std::fmt::Display for State {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            State::Before => "before",
            State::After => "after",
        })
    }
}

/// A state's level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// Mean of the stretch.
    pub value: f64,
    /// Standard deviation of one sample.
    pub deviation: f64,
    /// Standard uncertainty of the mean by noise.
    pub standard: f64,
    /// By how much it drifts over the stretch; 0 where that is not more than noise.
    pub drift: f64,
    /// The lowest and the highest sample.
    pub extremes: (f64, f64),
}

/// Degrees of freedom of a level's standard uncertainty.
pub const LEVEL_DOF: f64 = (BATCHES - 1) as f64;

impl Level {
    /// The level of a stretch in one pass; `None` for less than two samples a batch.
    pub fn of<S: Sample>(values: &[S]) -> Option<Level> {
        if values.len() < LEAST_SAMPLES {
            return None;
        }
        let zero = values[0];
        let (mut sum, mut squares) = (0.0, 0.0);
        let (mut low, mut high) = (zero.value(), zero.value());
        let mut means = [0.0; BATCHES];
        let count = values.len();
        for (at, mean) in means.iter_mut().enumerate() {
            let batch = &values[count * at / BATCHES..count * (at + 1) / BATCHES];
            let (above, above_squared) = S::sums_above(batch, zero);
            *mean = above / batch.len() as f64;
            sum += above;
            squares += above_squared;
            let (lowest, highest) = extremes(batch)?;
            (low, high) = (low.min(lowest.value()), high.max(highest.value()));
        }
        let n = count as f64;
        let above = sum / n;
        let variance = ((squares - sum * above) / (n - 1.0)).max(0.0);
        let middle = means.iter().sum::<f64>() / BATCHES as f64;
        let of_batches = means.iter().map(|m| (m - middle).powi(2)).sum::<f64>() / LEVEL_DOF;
        Some(Level {
            value: zero.value() + above,
            deviation: variance.sqrt(),
            standard: (variance / n).max(of_batches / BATCHES as f64).sqrt(),
            drift: drift(&means, middle),
            extremes: (low, high),
        })
    }
}

/// Rise of a straight line of least squares over the stretch of all batches, where it is steeper
/// than their scatter explains; else 0.
fn drift(means: &[f64; BATCHES], middle: f64) -> f64 {
    let centre = (BATCHES - 1) as f64 / 2.0;
    let place = |at: usize| at as f64 - centre;
    let squares: f64 = (0..BATCHES).map(|at| place(at).powi(2)).sum();
    let slope = (0..BATCHES).map(|at| place(at) * (means[at] - middle)).sum::<f64>() / squares;
    let left: f64 = (0..BATCHES).map(|at| (means[at] - middle - slope * place(at)).powi(2)).sum();
    let slope_u = (left / (BATCHES - 2) as f64 / squares).sqrt();
    if slope.abs() > LEAST_DRIFT * slope_u { slope * BATCHES as f64 } else { 0.0 }
}

/// A step from one level to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// The level before.
    pub before: Level,
    /// The level after, towards which instants are taken.
    pub after: Level,
    /// Index of the first sample of the stretch that gave the level after.
    pub after_from: usize,
    /// Standard deviation of the noise of one sample, as a share of the step: that of the quieter
    /// state, and no less than rounding gives.
    pub noise: f64,
}

impl Step {
    /// The levels of a step.
    ///
    /// # Errors
    ///
    /// Tells why there is no step, or no level to take it from.
    pub fn of<S: Sample>(values: &[S], look: &Look) -> Result<Step, NoStep> {
        let after_at = tail(values.len(), FINAL, LEAST_SAMPLES);
        if look.start > after_at.start {
            return Err(NoStep::TooShort);
        }
        let level = |part: &[S]| {
            let level = Level::of(part).ok_or(NoStep::TooShort)?;
            if S::are_numbers(part) { Ok(level) } else { Err(NoStep::NoNumber) }
        };
        let before = level(&values[..look.start])?;
        let after = level(&values[after_at.clone()])?;
        for (level, state) in [(&before, State::Before), (&after, State::After)] {
            if level.extremes.0 <= look.range.0 || level.extremes.1 >= look.range.1 {
                return Err(NoStep::Clipped(state));
            }
        }
        let noise = before.deviation.min(after.deviation).max(look.resolution / 12f64.sqrt());
        let span = (after.value - before.value).abs();
        if span <= look.least.max(LEAST_SIGNAL * noise) {
            return Err(NoStep::NeverCame);
        }
        let (early, late) = ((before.drift / span).abs(), (after.drift / span).abs());
        if early > STEADY {
            return Err(NoStep::NeverStill { share: early });
        }
        if late > STEADY {
            return Err(NoStep::NeverSettled { share: late });
        }
        Ok(Step { before, after, after_from: after_at.start, noise: noise / span })
    }

    /// The level after less the level before.
    pub fn span(&self) -> f64 {
        self.after.value - self.before.value
    }

    /// How far a value lies on the way from the level before (0) to the level after (1).
    pub fn share(&self, value: f64) -> f64 {
        (value - self.before.value) / self.span()
    }
}
