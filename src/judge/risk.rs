//! How likely a verdict is wrong.
//!
//! Source: JCGM 106:2012, clause 7 (what is known of one item after it was measured) and 9.5 (the
//! risks of a rule over a whole production).

use super::reading::Verdict;
use super::verdict::Window;
use crate::measure::uncertainty::{Estimate, NORMAL_95, coverage_factor};
use crate::measure::unseen::Unseen;
use statrs::distribution::{ContinuousCDF, StudentsT};
use statrs::function::erf::erfc;

mod integral;

/// What is known of a production before one item of it is measured: a normal distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Production {
    /// Its centre.
    pub centre: f64,
    /// Its standard deviation; more than zero.
    pub spread: f64,
}

impl Production {
    /// One in the middle of a window that is limited on both sides, its standard deviation a share
    /// of the window's width. `None` where a limit is missing or the width is zero.
    pub fn within(window: &Window, share: f64) -> Option<Self> {
        let (lower, upper) = (window.lower?, window.upper?);
        let spread = share * (upper - lower);
        (spread > 0.0 && spread.is_finite())
            .then(|| Production { centre: (lower + upper) / 2.0, spread })
    }

    fn density(&self, x: f64) -> f64 {
        let z = (x - self.centre) / self.spread;
        (-0.5 * z * z).exp() / (self.spread * (2.0 * std::f64::consts::PI).sqrt())
    }
}

/// The chance that the true value lies outside a window, and that it lies inside; either is worked
/// out by itself, so that a very small one is not lost in the difference to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conformance {
    /// Outside.
    pub outside: f64,
    /// Inside.
    pub inside: f64,
}

/// Where the true value of a measured item lies.
///
/// Without a production the item is known by its measurement alone: the distribution is Student's
/// with the estimate's degrees of freedom (JCGM 101:2008, 6.4.9), which is the normal one of
/// JCGM 106, 7.2 where these are many. With a production it is the normal distribution of JCGM 106,
/// annex A (normal prior), in which the measurement counts with the standard uncertainty that gives
/// the same 95 %.
pub fn conformance(
    estimate: &Estimate,
    window: &Window,
    production: Option<Production>,
) -> Conformance {
    let normal_standard = estimate.expanded() / NORMAL_95;
    let (centre, scale, dof) = match production {
        None => (estimate.value, estimate.standard, estimate.dof),
        Some(p) => {
            let (known, measured) = (p.spread.powi(2), normal_standard.powi(2));
            let centre = (known * estimate.value + measured * p.centre) / (known + measured);
            (centre, (known * measured / (known + measured)).sqrt(), f64::INFINITY)
        }
    };
    let above = |limit: f64| upper_tail((limit - centre) / scale, dof);
    let below = |limit: f64| upper_tail((centre - limit) / scale, dof);
    let (over, under) = (window.upper.map_or(0.0, above), window.lower.map_or(0.0, below));
    let inside = match (window.lower, window.upper) {
        (None, None) => 1.0,
        (Some(lower), None) => above(lower),
        (None, Some(upper)) => below(upper),
        // The smaller of two differences that are the same number, in the tail that keeps digits.
        (Some(lower), Some(upper)) if centre < lower => above(lower) - above(upper),
        (Some(lower), Some(upper)) => below(upper) - below(lower),
    };
    let known =
        Conformance { outside: (over + under).clamp(0.0, 1.0), inside: inside.clamp(0.0, 1.0) };
    known.mixed(estimate.budget.unseen(), estimate.value, window)
}

/// The same for a reading: `None` where nothing is limited, or the estimate is no number.
pub fn of_reading(
    estimate: &Estimate,
    window: &Window,
    production: Option<Production>,
) -> Option<Conformance> {
    let numbers = estimate.value.is_finite() && estimate.standard.is_finite();
    let known =
        (*window != Window::OPEN && numbers).then(|| conformance(estimate, window, production))?;
    (known.outside.is_finite() && known.inside.is_finite()).then_some(known)
}

impl Conformance {
    /// The same where something may have left no trace: in that share of cases the true value lies beyond.
    fn mixed(self, unseen: Unseen, value: f64, window: &Window) -> Self {
        let Unseen { chance, .. } = unseen;
        if chance <= 0.0 {
            return self;
        }
        let beyond = unseen.outside(value, window.lower, window.upper);
        Conformance {
            outside: self.outside * (1.0 - chance) + chance * beyond,
            inside: self.inside * (1.0 - chance) + chance * (1.0 - beyond),
        }
    }

    /// The chance that a verdict is wrong: a `pass` though the true value is outside, a `fail` though
    /// it is inside. `None` for an indeterminate one.
    pub fn wrong(&self, verdict: Verdict) -> Option<f64> {
        match verdict {
            Verdict::Pass => Some(self.outside),
            Verdict::Fail => Some(self.inside),
            Verdict::Indeterminate => None,
        }
    }
}

/// A risk as it is told: nobody knows more than three digits of it.
pub fn three_digits(risk: f64) -> f64 {
    format!("{risk:.2e}").parse().unwrap_or(risk)
}

/// The risks of a rule over a production: shares of all items made (JCGM 106, 9.5.2).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Risks {
    /// Accepted though outside the limits: the consumer's.
    pub consumer: f64,
    /// Not accepted though inside: the producer's.
    pub producer: f64,
}

/// The risks where items of a production are measured with the standard uncertainty `standard` and
/// accepted when the value is inside the limits by a guard band at least (zero: simple acceptance).
pub fn of_rule(production: Production, standard: f64, limits: &Window, guard: f64) -> Risks {
    let reach = 10.0 * production.spread;
    let support = (production.centre - reach, production.centre + reach);
    of_density(&|x| production.density(x), support, standard, limits, guard)
}

/// The same for a production of any distribution that is zero outside `support`.
fn of_density(
    density: &dyn Fn(f64) -> f64,
    support: (f64, f64),
    standard: f64,
    limits: &Window,
    guard: f64,
) -> Risks {
    let accepted_from = limits.lower.map(|l| l + guard);
    let accepted_to = limits.upper.map(|u| u - guard);
    let refused = |x: f64| {
        if accepted_from.zip(accepted_to).is_some_and(|(from, to)| from > to) {
            return 1.0;
        }
        let over = accepted_to.map_or(0.0, |to| upper_tail((to - x) / standard, f64::INFINITY));
        let under =
            accepted_from.map_or(0.0, |from| upper_tail((x - from) / standard, f64::INFINITY));
        (over + under).min(1.0)
    };
    let (low, high) = support;
    let lower = limits.lower.map_or(low, |l| l.clamp(low, high));
    let upper = limits.upper.map_or(high, |u| u.clamp(low, high));
    // Where acceptance changes, within ten standard uncertainties, the steps have to be fine.
    let breaks: Vec<f64> = [accepted_from, accepted_to]
        .into_iter()
        .flatten()
        .flat_map(|at| [at - 10.0 * standard, at, at + 10.0 * standard])
        .collect();
    let over = |f: &dyn Fn(f64) -> f64, from: f64, to: f64| integral::of(f, from, to, &breaks);
    let accepted_outside = |x: f64| density(x) * (1.0 - refused(x));
    let refused_inside = |x: f64| density(x) * refused(x);
    Risks {
        consumer: over(&accepted_outside, low, lower) + over(&accepted_outside, upper, high),
        producer: over(&refused_inside, lower, upper),
    }
}

/// The chance of more than `z`: Student's distribution, the normal one where the degrees of freedom
/// are many. What is not uncertain at all lies where it is: `z` is infinite, or no number on a
/// limit, which is still inside.
fn upper_tail(z: f64, dof: f64) -> f64 {
    if z.is_nan() {
        return 0.0;
    }
    if z.is_infinite() || coverage_factor(dof) == NORMAL_95 {
        return 0.5 * erfc(z / std::f64::consts::SQRT_2);
    }
    StudentsT::new(0.0, 1.0, dof.max(1.0)).map_or(f64::NAN, |student| student.sf(z))
}

#[cfg(test)]
mod tests;
