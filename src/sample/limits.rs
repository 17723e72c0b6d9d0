//! From measured currents to limits that hold a stated share of such loads.
//!
//! Limits = mean ± (k·s + U + R). `k·s` is a statistical tolerance interval
//! ([`crate::measure::tolerance`]): it holds the share `coverage` of what scatters, with the
//! probability `confidence`. `U` is the expanded uncertainty (95 %) of what is the same in every
//! measurement, gain, offset, non-linearity: that does not scatter, so no repeating shows it, and it
//! is added whole. `R` is room for the reading that is compared with the limits later, by a jig of
//! the same class: that reading may be off by `U`, and guarded acceptance keeps away from the limit
//! by `U` once more. Without this room a sound load could never pass where nothing but the jig's own
//! uncertainty makes the limits.
//!
//! Of one specimen each measurement counts. Of several, each *specimen* counts once, however often
//! it was measured: two measurements of one lamp tell nothing of the next lamp. Then `s` is that of
//! a single measurement of any specimen, from the analysis of variance (one way, random):
//! `s² = MS_between / t + (1 − 1/t) · MS_within` with `t` measurements of each, and the factor is that
//! of as many values as there are specimens. This is on the safe side of R. W. Mee, "β-Expectation
//! and β-Content Tolerance Limits for Balanced One-Way ANOVA Random Model", Technometrics 26 (1984)
//! 251, whose degrees of freedom by Satterthwaite make limits that hold less often than they promise
//! when specimens are few (three of them, measured ten times: 80 % in place of 95 %).

use crate::measure::budget::{Budget, Source};
use crate::measure::tolerance::two_sided_factor;
use crate::measure::uncertainty::{Component, Estimate};

/// The fewest values that limits are made from: three need ten standard deviations either way
/// (common practice, no source).
pub const LEAST: usize = 4;

/// How steeply a load's current may go with its voltage at most: twice as much, in shares (the same
/// as where the sheet is used).
const STEEPEST: f64 = 2.0;

/// A current that moves by more than this share within a measurement has not settled.
const MOVES: f64 = 0.01;

/// One measurement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measurement {
    /// The specimen, from 1.
    pub specimen: u32,
    /// The load's current, amperes.
    pub current: Estimate,
    /// The voltage across it, volts.
    pub voltage: Estimate,
    /// By how much the current differs between the beginning and the end of its window, amperes.
    pub moved_a: f64,
}

impl Measurement {
    /// Whether a current flowed and stood still while it was measured.
    ///
    /// # Errors
    /// Why limits cannot be made of it.
    pub fn check(&self) -> Result<(), SampleError> {
        let value = self.current.value;
        if value.is_nan() || value <= self.current.expanded() {
            return Err(SampleError::Nothing(value));
        }
        let moved = self.moved_a.abs() / value;
        if moved > MOVES { Err(SampleError::Moves { share: 100.0 * moved }) } else { Ok(()) }
    }
}

/// What the limits shall promise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// The share of readings that they hold, 0 to 1.
    pub coverage: f64,
    /// The probability with which they do, 0 to 1.
    pub confidence: f64,
    /// Whether there is room for the readings that are compared with them.
    pub room: bool,
}

/// Room for a reading, in expanded uncertainties: its own error, and its guard band.
const ROOM: f64 = 2.0;

/// The limits, and what they are made of. Currents in amperes, voltages in volts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SampleLimits {
    /// Mean of the measured currents, at `voltage_v`.
    pub mean_a: f64,
    /// Standard deviation of a single measurement of any specimen.
    pub deviation_a: f64,
    /// That between specimens alone, where there are several.
    pub between_a: Option<f64>,
    /// How many values count: measurements of one specimen, or specimens.
    pub counted: usize,
    /// The factor of the tolerance interval.
    pub factor: f64,
    /// Expanded uncertainty (95 %) of what all measurements share.
    pub common_a: f64,
    /// Room for the readings that are compared with the limits.
    pub room_a: f64,
    /// Mean voltage across the load.
    pub voltage_v: f64,
    /// Lower limit.
    pub lower_a: f64,
    /// Upper limit.
    pub upper_a: f64,
}

/// Why there are no limits.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SampleError {
    /// Too few measurements of one specimen.
    #[error(
        "{0} measurements are too few to say how a load scatters: take at least {LEAST}, better 10 \
         (--times)"
    )]
    FewTimes(usize),
    /// Too few specimens.
    #[error(
        "{0} specimens are too few to say how such loads differ: take at least {LEAST}, or one alone \
         (--specimens), whose limits then hold for this one only"
    )]
    FewSpecimens(usize),
    /// A share that is none.
    #[error("coverage and confidence lie between 0 % and 100 %, such as 95 %")]
    Shares,
    /// There is nothing to have limits.
    #[error(
        "the load draws {0:.6} A, which is not more than what the jig cannot tell from nothing: \
             look whether it is connected, and which way round"
    )]
    Nothing(f64),
    /// The lower limit would lie below zero.
    #[error(
        "the measurements scatter so much ({deviation_a:.6} A about {mean_a:.6} A) that the limits \
         would reach down to nothing: look for a loose contact, and measure more often"
    )]
    Scatter {
        /// The mean, amperes.
        mean_a: f64,
        /// The standard deviation, amperes.
        deviation_a: f64,
    },
    /// A current that has not settled.
    #[error(
        "the current still moves by {share:.1} % while it is measured: give the load more time to \
         settle (--settle)"
    )]
    Moves {
        /// By how much, per cent.
        share: f64,
    },
    /// Specimens that were not measured equally often.
    #[error("every specimen must be measured equally often")]
    Unequal,
}

/// Whether so many measurements are enough for limits, before any is made.
///
/// # Errors
/// Why they are not.
pub fn enough(specimens: usize, times: usize) -> Result<(), SampleError> {
    match (specimens, times) {
        (1, times) if times < LEAST => Err(SampleError::FewTimes(times)),
        (2.., _) if specimens < LEAST => Err(SampleError::FewSpecimens(specimens)),
        (0, _) => Err(SampleError::FewSpecimens(0)),
        _ => Ok(()),
    }
}

impl SampleLimits {
    /// The limits from all measurements.
    ///
    /// # Errors
    /// When there are too few of them, or they make no sense.
    pub fn of(taken: &[Measurement], asked: Asked) -> Result<SampleLimits, SampleError> {
        let specimens = by_specimen(taken);
        let times = specimens.first().map_or(0, Vec::len);
        enough(specimens.len(), times)?;
        if specimens.iter().any(|s| s.len() != times) {
            return Err(SampleError::Unequal);
        }
        taken.iter().try_for_each(Measurement::check)?;
        let voltage_v = mean(taken.iter().map(|t| t.voltage.value));
        // All at one voltage, as if the current went with it; that it may not is left open.
        let at_one = |t: &Measurement| t.current.value * voltage_v / t.voltage.value;
        let specimens: Vec<Vec<f64>> =
            specimens.iter().map(|s| s.iter().map(|t| at_one(t)).collect()).collect();
        let mean_a = mean(specimens.iter().flatten().copied());
        let common = common(taken, mean_a, voltage_v);
        let (deviation_a, between_a) = deviation(&specimens, mean_a);
        let counted = if specimens.len() > 1 { specimens.len() } else { times };
        let size = counted as f64;
        let factor = two_sided_factor(size, size - 1.0, asked.coverage, asked.confidence)
            .ok_or(SampleError::Shares)?;
        let common_a = common.expanded();
        let room_a = if asked.room { ROOM * common_a } else { 0.0 };
        let half = factor * deviation_a + common_a + room_a;
        if mean_a <= half {
            return Err(SampleError::Scatter { mean_a, deviation_a });
        }
        Ok(SampleLimits {
            mean_a,
            deviation_a,
            between_a,
            counted,
            factor,
            common_a,
            room_a,
            voltage_v,
            lower_a: mean_a - half,
            upper_a: mean_a + half,
        })
    }
}

fn by_specimen(taken: &[Measurement]) -> Vec<Vec<&Measurement>> {
    let mut numbers: Vec<u32> = taken.iter().map(|t| t.specimen).collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers.into_iter().map(|n| taken.iter().filter(|t| t.specimen == n).collect()).collect()
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), v| (sum + v, count + 1.0));
    sum / count
}

/// Sum of squares about a value.
fn squares(values: impl Iterator<Item = f64>, about: f64) -> f64 {
    values.map(|v| (v - about).powi(2)).sum()
}

/// Standard deviation of a single measurement of any specimen, and that between specimens.
fn deviation(specimens: &[Vec<f64>], all: f64) -> (f64, Option<f64>) {
    let times = specimens.first().map_or(0, Vec::len) as f64;
    if let [only] = specimens {
        return ((squares(only.iter().copied(), all) / (times - 1.0)).sqrt(), None);
    }
    let count = specimens.len() as f64;
    let means: Vec<f64> = specimens.iter().map(|s| mean(s.iter().copied())).collect();
    let between = times * squares(means.iter().copied(), all) / (count - 1.0);
    let about = |(s, &m): (&Vec<f64>, &f64)| squares(s.iter().copied(), m);
    let within = if times > 1.0 {
        specimens.iter().zip(&means).map(about).sum::<f64>() / (count * (times - 1.0))
    } else {
        0.0
    };
    let single = (between / times + (1.0 - 1.0 / times) * within).sqrt();
    let apart = ((between - within) / times).max(0.0).sqrt();
    (single, Some(apart))
}

/// What all measurements share: all but the noise, the largest of any measurement.
fn common(taken: &[Measurement], mean_a: f64, voltage_v: f64) -> Estimate {
    let shared = |estimate: &Estimate| {
        let mut budget = Budget::default();
        for line in estimate.budget.lines().filter(|line| line.source != Source::Noise) {
            let part = Component::type_a(line.standard, line.dof).from(line.source);
            budget.add(&Component { cumulant: line.cumulant, ..part });
        }
        budget
    };
    let largest = |of: fn(&Measurement) -> &Estimate| {
        let budgets = taken.iter().map(|t| shared(of(t)));
        budgets.max_by(|a, b| a.standard().total_cmp(&b.standard())).unwrap_or_default()
    };
    let current = largest(|t| &t.current);
    let voltage = largest(|t| &t.voltage);
    // A voltage that is read wrongly is the voltage of another current.
    let by_voltage = STEEPEST * mean_a * voltage.standard() / voltage_v;
    let moved = taken.iter().map(|t| t.moved_a.abs()).fold(0.0, f64::max);
    let apart = taken.iter().map(|t| (t.voltage.value / voltage_v).ln().abs()).fold(0.0, f64::max);
    Estimate::of(mean_a, current)
        .with(Component::type_a(by_voltage, voltage.dof()).from(Source::Supply))
        .with(Component::rectangular(mean_a * apart).from(Source::Supply))
        .with(Component::rectangular(moved / 2.0).from(Source::Unsettled))
}

#[cfg(test)]
mod tests;
