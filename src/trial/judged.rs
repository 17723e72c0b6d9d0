//! What an analysis of variance says about the bench: standard deviations by source, and whether
//! they are small enough for the limits.

use super::anova::{Pooled, Source, TwoWay};
use super::study::{Analysis, Counts, Series, Study};
use crate::judge::reading::Verdict;
use crate::judge::risk::{self, Production, Risks};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// The largest share of the limits that the bench's scatter may take. Source: AIAG, *Measurement
/// Systems Analysis*, 4th edition, as cited in statistics handbooks: below 10 % good, up to 30 %
/// usable, above not.
pub const MOST: f64 = 0.30;

/// Up to this share nothing needs to be considered. The same source.
pub const GOOD: f64 = 0.10;

/// The chance that an effect is found in any of the readings of a study though there is none; it is shared
/// out among them (O. J. Dunn, "Multiple comparisons among means", *Journal of the American Statistical
/// Association* 56 (1961) 52).
const BY_CHANCE: f64 = 0.05;

/// How many standard deviations of the bench are set against the width between two limits (the same
/// source); half of it against the distance from the mean to a single limit (common practice, no
/// source).
const WIDTH: f64 = 6.0;

/// A standard deviation, and whether it was set to zero: its variance came out below zero, or no larger than
/// chance makes it (then it is pooled with what is repeated).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// The standard deviation.
    pub deviation: f64,
    /// Whether it was set to zero.
    pub is_none: bool,
}

impl Part {
    fn of(variance: f64) -> Self {
        Part { deviation: variance.max(0.0).sqrt(), is_none: variance < 0.0 }
    }
}

/// Where the scatter comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parts {
    /// The same operator with the same module again.
    pub repeatability: Part,
    /// How much of that is the module's own, since it draws the thing anew at each operation; `None` for
    /// what is the same each time.
    pub anew: Option<Part>,
    /// Between operators; `None` with one operator.
    pub operators: Option<Part>,
    /// What an operator does differently with one module than with another; likewise.
    pub interaction: Option<Part>,
    /// Between modules.
    pub modules: Part,
    /// All but the modules and what they draw anew: the bench with whoever works at it.
    pub bench: f64,
    /// Effective degrees of freedom of the bench's, after Satterthwaite.
    pub dof: f64,
}

/// A share of a mean square in the bench's variance.
type Term = (f64, Source);

/// The parts of an analysis. `stated` is the variance that the readings state themselves, of a thing that the
/// module draws anew at each operation. What an F-test that errs with this chance finds nothing of is pooled.
pub fn parts(analysis: &Analysis, stated: Option<f64>, chance: f64) -> Parts {
    let (within, left) = match analysis {
        Analysis::Modules(table, counts) => {
            let modules = table.between.mean() - table.within.mean();
            let modules = modules / counts.passes as f64;
            let left =
                Left { error: table.within, operators: None, both: None, modules, more: vec![] };
            (table.within, left)
        }
        Analysis::Crossed(table, counts) => (table.within, crossed(table, counts, chance)),
    };
    let Left { error, operators, both, modules, more } = left;
    let repeated = error.mean();
    // Of such a thing the bench's own part is what its readings state, and no more than they scatter by.
    let own = stated.map(|stated| stated.min(repeated));
    let mut variance = own.unwrap_or(repeated);
    let mut of_error = if own.is_some() { 0.0 } else { 1.0 };
    let mut spread = 0.0;
    for (share, source) in more {
        variance += share * (source.mean() - repeated);
        of_error -= share;
        spread += (share * source.mean()).powi(2) / source.dof;
    }
    spread += (of_error * repeated).powi(2) / error.dof;
    Parts {
        repeatability: Part::of(within.mean()),
        anew: own.map(|own| Part::of(repeated - own)),
        operators: operators.map(Part::of),
        interaction: both.map(Part::of),
        modules: Part::of(modules),
        bench: variance.max(0.0).sqrt(),
        dof: if spread > 0.0 { (variance * variance / spread).max(1.0) } else { f64::INFINITY },
    }
}

/// What is left of a study when what may be nothing is pooled.
struct Left {
    error: Source,
    /// Variances; below zero where they are none.
    operators: Option<f64>,
    both: Option<f64>,
    modules: f64,
    /// What operators and both are made of besides the error.
    more: Vec<Term>,
}

fn crossed(table: &TwoWay, counts: &Counts, chance: f64) -> Left {
    let [a, b, n] = [counts.modules, counts.operators, counts.passes].map(|c| c as f64);
    let Pooled { error, interaction, second } = table.pooled(chance);
    let both = interaction.unwrap_or(error);
    let (of_both, of_second) = (1.0 / n, 1.0 / (a * n));
    let mut more = Vec::new();
    let mut share_of_both = if interaction.is_some() { of_both } else { 0.0 };
    if let Some(second) = second.filter(|second| second.mean() > both.mean()) {
        more.push((of_second, second));
        if interaction.is_some() {
            share_of_both -= of_second;
        }
    }
    if let Some(interaction) = interaction {
        more.push((share_of_both, interaction));
    }
    // Below zero, and so set to zero, is what was pooled.
    let nothing = -f64::MIN_POSITIVE;
    let of_interaction = interaction.map_or(nothing, |both| (both.mean() - error.mean()) * of_both);
    let of_operators = second.map_or(nothing, |second| (second.mean() - both.mean()) * of_second);
    let of_modules = (table.first.mean() - both.mean()) / (b * n);
    Left {
        error,
        operators: Some(of_operators),
        both: Some(of_interaction),
        modules: of_modules,
        more,
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

/// Judges one of so many series.
pub fn judge(series: &Series, of: usize) -> Judged<'_> {
    let limited = series.limits.lower.is_some() || series.limits.upper.is_some();
    let Ok(analysis) = &series.analysis else {
        let verdict = limited.then_some(Verdict::Indeterminate);
        return Judged { series, parts: None, share: None, risks: None, verdict };
    };
    let parts = parts(analysis, series.stated, BY_CHANCE / of.max(1) as f64);
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
    study.series.iter().map(|series| judge(series, study.series.len())).collect()
}

#[cfg(test)]
#[path = "judged/tests.rs"]
mod tests;
