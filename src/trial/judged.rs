//! What an analysis of variance says about the bench: standard deviations by source, and whether
//! they are small enough for the limits.

use super::study::{Analysis, Series, Study};
use crate::judge::reading::Verdict;
use crate::judge::risk::{self, Production, Risks};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// The largest share of the limits that the bench's scatter may take. Source: AIAG, *Measurement
/// Systems Analysis*, 4th edition, as cited in statistics handbooks: below 10 % good, up to 30 %
/// usable, above not.
pub const MOST: f64 = 0.30;

/// Up to this share nothing needs to be considered. The same source.
pub const GOOD: f64 = 0.10;

/// How many standard deviations of the bench are set against the width between two limits (the same
/// source); half of it against the distance from the mean to a single limit (common practice, no
/// source).
const WIDTH: f64 = 6.0;

/// A standard deviation, and whether its variance came out below zero and was set to zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// The standard deviation.
    pub deviation: f64,
    /// Whether it was set to zero.
    pub was_negative: bool,
}

impl Part {
    fn of(variance: f64) -> Self {
        Part { deviation: variance.max(0.0).sqrt(), was_negative: variance < 0.0 }
    }

    fn variance(&self) -> f64 {
        self.deviation.powi(2)
    }
}

/// Where the scatter comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parts {
    /// The same operator with the same module again.
    pub repeatability: Part,
    /// Between operators; `None` with one operator.
    pub operators: Option<Part>,
    /// What an operator does differently with one module than with another; likewise.
    pub interaction: Option<Part>,
    /// Between modules.
    pub modules: Part,
    /// All but the modules: the bench with whoever works at it.
    pub bench: f64,
    /// Effective degrees of freedom of the bench's, after Satterthwaite.
    pub dof: f64,
}

/// The parts of an analysis.
pub fn parts(analysis: &Analysis) -> Parts {
    // The bench's variance as a sum of mean squares, each with its degrees of freedom.
    let (parts, terms) = match analysis {
        Analysis::Modules(table, counts) => {
            let (within, between) = (table.within.mean(), table.between.mean());
            let repeatability = Part::of(within);
            let modules = Part::of((between - within) / counts.passes as f64);
            ((repeatability, None, None, modules), vec![(within, table.within.dof)])
        }
        Analysis::Crossed(table, counts) => {
            let [a, b, n] = [counts.modules, counts.operators, counts.passes].map(|c| c as f64);
            let (within, both) = (table.within.mean(), table.interaction.mean());
            let interaction = Part::of((both - within) / n);
            let operators = Part::of((table.second.mean() - both) / (a * n));
            let modules = Part::of((table.first.mean() - both) / (b * n));
            let (mut of_within, mut of_both, mut of_second) = (1.0, 0.0, 0.0);
            if !interaction.was_negative {
                of_within -= 1.0 / n;
                of_both += 1.0 / n;
            }
            if !operators.was_negative {
                of_both -= 1.0 / (a * n);
                of_second = 1.0 / (a * n);
            }
            let terms = vec![
                (of_within * within, table.within.dof),
                (of_both * both, table.interaction.dof),
                (of_second * table.second.mean(), table.second.dof),
            ];
            ((Part::of(within), Some(operators), Some(interaction), modules), terms)
        }
    };
    let (repeatability, operators, interaction, modules) = parts;
    let more = [operators, interaction].into_iter().flatten().map(|p| p.variance()).sum::<f64>();
    let bench = repeatability.variance() + more;
    let spread: f64 = terms.iter().map(|(term, dof)| term * term / dof).sum();
    Parts {
        repeatability,
        operators,
        interaction,
        modules,
        bench: bench.sqrt(),
        dof: if spread > 0.0 { (bench * bench / spread).max(1.0) } else { f64::INFINITY },
    }
}

/// What the bench's scatter takes of the limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// As estimated.
    pub share: f64,
    /// Lower end of its 95 % confidence interval.
    pub from: f64,
    /// Upper end.
    pub to: f64,
}

/// One series, judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged<'a> {
    /// The series.
    pub series: &'a Series,
    /// Its parts, where it could be analysed.
    pub parts: Option<Parts>,
    /// The share of the limits, where there are limits.
    pub share: Option<Share>,
    /// The risks of simple acceptance for modules that scatter like these, where there are two
    /// limits and the modules do scatter.
    pub risks: Option<Risks>,
    /// Good enough, not, or cannot be told; `None` where nothing is limited.
    pub verdict: Option<Verdict>,
}

/// Judges one series.
pub fn judge(series: &Series) -> Judged<'_> {
    let limited = series.limits.lower.is_some() || series.limits.upper.is_some();
    let Ok(analysis) = &series.analysis else {
        let verdict = limited.then_some(Verdict::Indeterminate);
        return Judged { series, parts: None, share: None, risks: None, verdict };
    };
    let parts = parts(analysis);
    let share = room(series).map(|room| share(&parts, room));
    let verdict = share.map(|s| match (s.from, s.to) {
        (_, to) if to <= MOST => Verdict::Pass,
        (from, _) if from > MOST => Verdict::Fail,
        _ => Verdict::Indeterminate,
    });
    let modules = Production { centre: series.mean, spread: parts.modules.deviation };
    let two = series.limits.lower.is_some() && series.limits.upper.is_some();
    let risks = (two && modules.spread > 0.0 && parts.bench > 0.0)
        .then(|| risk::of_rule(modules, parts.bench, &series.limits, 0.0));
    Judged { series, parts: Some(parts), share, risks, verdict }
}

/// What the bench's standard deviation is set against.
fn room(series: &Series) -> Option<f64> {
    let room = match (series.limits.lower, series.limits.upper) {
        (None, None) => return None,
        (Some(lower), Some(upper)) => (upper - lower) / WIDTH,
        (Some(limit), None) | (None, Some(limit)) => (series.mean - limit).abs() / (WIDTH / 2.0),
    };
    Some(room.max(0.0))
}

fn share(parts: &Parts, room: f64) -> Share {
    let of = |deviation: f64| if deviation == 0.0 { 0.0 } else { deviation / room };
    let share = of(parts.bench);
    let end = |p: f64| match ChiSquared::new(parts.dof) {
        Ok(chi) if parts.dof.is_finite() => share * (parts.dof / chi.inverse_cdf(p)).sqrt(),
        _ => share,
    };
    Share { share, from: end(0.975), to: end(0.025) }
}

/// The verdict on the bench: the worst of its series; cannot be told where nothing is limited.
pub fn verdict(judged: &[Judged<'_>]) -> Verdict {
    let verdicts = || judged.iter().filter_map(|j| j.verdict);
    verdicts().max().unwrap_or(Verdict::Indeterminate)
}

/// All series of a study, judged.
pub fn all(study: &Study) -> Vec<Judged<'_>> {
    study.series.iter().map(judge).collect()
}

#[cfg(test)]
#[path = "judged/tests.rs"]
mod tests;
