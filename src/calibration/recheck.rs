//! Whether a jig has drifted, told by one resistor that is known.
//!
//! Method: the normalised error E_n of ISO/IEC 17043 (B.3.1.3) and ISO 13528: the difference of two
//! values over the root of the sum of the squares of their expanded uncertainties. Its size is at
//! most 1 when the two agree.

use crate::measure::uncertainty::{Component, Estimate};

/// What a recheck finds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recheck {
    /// The current that the jig reads.
    pub read: Estimate,
    /// The current that the resistor must draw at the voltage that the jig reads.
    pub expected: Estimate,
    /// Difference over combined expanded uncertainty.
    pub normalised_error: f64,
    /// The smallest drift that this check could have shown, amperes.
    pub shows_a: f64,
}

/// What follows from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finding {
    /// The jig reads what the resistor draws.
    Agrees,
    /// It does not.
    Drifted,
    /// The check is too coarse to tell.
    TooCoarse,
}

/// The current of a resistor behind a path of at most `path_ohm`, at a measured voltage. The
/// resistor's tolerance and the path are rectangles (GUM 4.3.7); the path is taken at its middle.
pub fn expected(volt: Estimate, ohm: f64, tolerance: f64, path_ohm: f64) -> Estimate {
    let whole = ohm + path_ohm / 2.0;
    let value = volt.value / whole;
    let per_ohm = value / whole;
    Estimate::of(value, volt.budget.scaled(1.0 / whole))
        .with(Component::rectangular(per_ohm * ohm * tolerance))
        .with(Component::rectangular(per_ohm * path_ohm / 2.0))
}

impl Recheck {
    /// Compares what the jig reads with what the resistor draws.
    pub fn of(read: Estimate, expected: Estimate) -> Recheck {
        let shows_a = read.expanded().hypot(expected.expanded());
        let off = read.value - expected.value;
        let normalised_error = if shows_a > 0.0 { off / shows_a } else { f64::INFINITY };
        Recheck { read, expected, normalised_error, shows_a }
    }

    /// What follows. `class_a` is what the class of the channel allows at this current: a check that
    /// could not even show that tells nothing when it agrees.
    pub fn finding(&self, class_a: f64) -> Finding {
        if self.normalised_error.is_nan() || self.normalised_error.abs() > 1.0 {
            Finding::Drifted
        } else if self.shows_a > 2.0 * class_a {
            Finding::TooCoarse
        } else {
            Finding::Agrees
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(value: f64, standard: f64) -> Estimate {
        Estimate::new(value, &[Component::standard(standard)])
    }

    /// Ohm's law: 12 V over 99.9 Ω and half of 0.2 Ω.
    #[test]
    fn the_resistor_draws_what_ohm_says() {
        let e = expected(known(12.0, 0.006), 99.9, 0.001, 0.2);
        assert!((e.value - 0.12).abs() < 1e-12);
        let parts = [0.006 / 100.0, 0.12 * 0.000_999 / 3f64.sqrt(), 0.12 * 0.001 / 3f64.sqrt()];
        let wanted = parts.iter().map(|p| p * p).sum::<f64>().sqrt();
        assert!((e.standard - wanted).abs() < 1e-12);
    }

    /// E_n = (x − X) / √(U² + U²): with k = 1.96, U of 0.01 A each and 15 mA apart it is 1.061.
    #[test]
    fn beyond_one_the_jig_has_drifted() {
        let u = 0.01 / 1.959_964;
        let check = Recheck::of(known(0.515, u), known(0.5, u));
        assert!((check.normalised_error - 0.015 / 0.02f64.sqrt() / 0.1).abs() < 1e-4);
        assert_eq!(check.finding(0.02), Finding::Drifted);
        let check = Recheck::of(known(0.505, u), known(0.5, u));
        assert_eq!(check.finding(0.02), Finding::Agrees);
        assert_eq!(check.finding(0.003), Finding::TooCoarse);
    }

    #[test]
    fn what_is_no_number_never_agrees() {
        let check = Recheck::of(known(f64::NAN, 0.01), known(0.5, 0.01));
        assert_eq!(check.finding(0.02), Finding::Drifted);
    }
}
