//! Where a value with its uncertainty stands against its limits.
//!
//! Source: JCGM 106:2012, 8.2 (simple acceptance) and 8.3 (guarded acceptance and guarded
//! rejection; a guard band of the expanded uncertainty on either side of a limit, as in
//! ISO 14253-1 and ILAC-G8).

use crate::measure::uncertainty::Estimate;
use crate::script::plan::Rule;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Where a value stands against its limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Inside.
    Pass,
    /// The uncertainty straddles a limit.
    Indeterminate,
    /// Outside.
    Fail,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Verdict::Pass => "pass",
            Verdict::Indeterminate => "indeterminate",
            Verdict::Fail => "fail",
        })
    }
}

/// Limits in the SI unit of a quantity; a side that is `None` is not limited.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Window {
    /// Lowest value allowed.
    pub lower: Option<f64>,
    /// Highest value allowed.
    pub upper: Option<f64>,
}

/// On which side of a window a value lies, its uncertainty left aside.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// Below the lower limit.
    Below,
    /// Inside.
    Inside,
    /// Above the upper limit.
    Above,
    /// There is no value.
    Missing,
}

impl Window {
    /// No limits at all.
    pub const OPEN: Window = Window { lower: None, upper: None };

    /// From `lower` to `upper`.
    pub const fn between(lower: f64, upper: f64) -> Self {
        Window { lower: Some(lower), upper: Some(upper) }
    }

    /// At most `upper`.
    pub const fn at_most(upper: f64) -> Self {
        Window { lower: None, upper: Some(upper) }
    }

    /// At least `lower`.
    pub const fn at_least(lower: f64) -> Self {
        Window { lower: Some(lower), upper: None }
    }

    /// On which side of it a value lies.
    pub fn side(&self, value: Option<f64>) -> Side {
        match value.filter(|v| v.is_finite()) {
            None => Side::Missing,
            Some(v) if self.lower.is_some_and(|l| v < l) => Side::Below,
            Some(v) if self.upper.is_some_and(|u| v > u) => Side::Above,
            Some(_) => Side::Inside,
        }
    }
}

/// How far inside a limit a value has to lie to pass, and outside to fail.
pub fn guard_band(estimate: &Estimate, rule: Rule) -> f64 {
    match rule {
        Rule::Simple => 0.0,
        Rule::Guarded => estimate.expanded(),
    }
}

/// The verdict on an estimate. A missing value, or one that is no number, fails.
pub fn verdict(estimate: Option<&Estimate>, window: &Window, rule: Rule) -> Verdict {
    let Some(estimate) = estimate.filter(|e| e.value.is_finite()) else { return Verdict::Fail };
    let guard = guard_band(estimate, rule);
    if guard.is_nan() {
        return Verdict::Fail;
    }
    let (low, high) = (estimate.value - guard, estimate.value + guard);
    let inside = |v: f64| window.side(Some(v)) == Side::Inside;
    if window.upper.is_some_and(|u| low > u) || window.lower.is_some_and(|l| high < l) {
        Verdict::Fail
    } else if (window.lower.is_none() || inside(low)) && (window.upper.is_none() || inside(high)) {
        Verdict::Pass
    } else {
        Verdict::Indeterminate
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::uncertainty::Component;
    use proptest::prelude::*;

    /// A value with the given expanded uncertainty.
    fn value(value: f64, expanded: f64) -> Estimate {
        let standard = expanded / crate::measure::uncertainty::coverage_factor(f64::INFINITY);
        Estimate::new(value, &[Component::standard(standard)])
    }

    /// JCGM 106:2012, figures 6 to 9: acceptance and rejection zones around tolerance limits.
    #[test]
    fn zones_of_guarded_acceptance() {
        let window = Window::between(10.0, 20.0);
        let guarded = |v| verdict(Some(&value(v, 1.0)), &window, Rule::Guarded);
        assert_eq!(guarded(15.0), Verdict::Pass);
        assert_eq!(guarded(11.1), Verdict::Pass);
        assert_eq!(guarded(18.9), Verdict::Pass);
        assert_eq!(guarded(10.5), Verdict::Indeterminate);
        assert_eq!(guarded(9.5), Verdict::Indeterminate);
        assert_eq!(guarded(20.9), Verdict::Indeterminate);
        assert_eq!(guarded(8.9), Verdict::Fail);
        assert_eq!(guarded(21.1), Verdict::Fail);
    }

    #[test]
    fn simple_acceptance_looks_at_the_value_alone() {
        let window = Window::between(10.0, 20.0);
        let simple = |v| verdict(Some(&value(v, 1.0)), &window, Rule::Simple);
        assert_eq!(simple(10.0), Verdict::Pass);
        assert_eq!(simple(9.999), Verdict::Fail);
        assert_eq!(simple(20.5), Verdict::Fail);
    }

    #[test]
    fn an_uncertainty_wider_than_the_window_decides_nothing() {
        let wide = value(15.0, 8.0);
        let window = Window::between(10.0, 20.0);
        assert_eq!(verdict(Some(&wide), &window, Rule::Guarded), Verdict::Indeterminate);
    }

    #[test]
    fn one_sided_and_open_windows() {
        let v = value(5.0, 1.0);
        let of = |w: Window| verdict(Some(&v), &w, Rule::Guarded);
        assert_eq!(of(Window::OPEN), Verdict::Pass);
        assert_eq!(of(Window::at_most(6.1)), Verdict::Pass);
        assert_eq!(of(Window::at_most(5.5)), Verdict::Indeterminate);
        assert_eq!(of(Window::at_most(3.9)), Verdict::Fail);
        assert_eq!(of(Window { lower: Some(6.1), upper: None }), Verdict::Fail);
        assert_eq!(of(Window { lower: Some(3.9), upper: None }), Verdict::Pass);
    }

    #[test]
    fn what_is_missing_fails() {
        assert_eq!(verdict(None, &Window::OPEN, Rule::Guarded), Verdict::Fail);
        assert_eq!(
            verdict(Some(&value(f64::NAN, 0.0)), &Window::OPEN, Rule::Simple),
            Verdict::Fail
        );
        assert_eq!(Window::OPEN.side(None), Side::Missing);
    }

    proptest! {
        /// A guarded verdict never contradicts the simple one: it only becomes undecided.
        #[test]
        fn guarded_is_simple_or_undecided(
            v in -10.0f64..10.0, u in 0.0f64..5.0, a in -8.0f64..8.0, w in 0.0f64..8.0,
        ) {
            let window = Window::between(a, a + w);
            let e = value(v, u);
            let guarded = verdict(Some(&e), &window, Rule::Guarded);
            let simple = verdict(Some(&e), &window, Rule::Simple);
            prop_assert!(guarded == simple || guarded == Verdict::Indeterminate);
        }
    }
}
