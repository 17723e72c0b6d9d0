//! Standard uncertainties put together and expanded.
//!
//! Source: JCGM 100:2008 (GUM), clauses 4.3.7 (rectangular distribution), 5.1.2 (combination of
//! uncorrelated inputs), G.4.1 (Welch–Satterthwaite) and G.3 (Student quantile).

use statrs::distribution::{ContinuousCDF, StudentsT};

/// Two-sided 95 % quantile of the normal distribution.
const NORMAL_95: f64 = 1.959_963_984_540_054;

/// Beyond this many degrees of freedom Student's quantile is taken as the normal one: they differ
/// by less than 3 in 10,000.
const MANY: f64 = 4_000.0;

/// One contribution to an uncertainty, its sensitivity coefficient already applied.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    /// Standard uncertainty, in the unit of the result.
    pub standard: f64,
    /// Degrees of freedom; infinite for a limit that is taken as certain.
    pub dof: f64,
}

impl Component {
    /// A type A contribution.
    pub const fn type_a(standard: f64, dof: f64) -> Self {
        Component { standard, dof }
    }

    /// A quantity known to lie within ± `half_width`, anywhere in it.
    pub fn rectangular(half_width: f64) -> Self {
        Component { standard: half_width.abs() / 3f64.sqrt(), dof: f64::INFINITY }
    }

    /// A type B contribution of known standard uncertainty.
    pub const fn standard(standard: f64) -> Self {
        Component { standard, dof: f64::INFINITY }
    }
}

/// A value with its combined standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Combined standard uncertainty, same unit.
    pub standard: f64,
    /// Effective degrees of freedom.
    pub dof: f64,
}

impl Estimate {
    /// Combines uncorrelated contributions.
    pub fn new(value: f64, components: &[Component]) -> Self {
        // Not `sum`, which is -0 for no components.
        let variance = components.iter().fold(0.0, |sum, c| sum + c.standard * c.standard);
        let weight: f64 = components
            .iter()
            .filter(|c| c.dof.is_finite() && c.dof > 0.0)
            .map(|c| c.standard.powi(4) / c.dof)
            .sum();
        let dof = if weight > 0.0 { variance * variance / weight } else { f64::INFINITY };
        Estimate { value, standard: variance.sqrt(), dof }
    }

    /// Adds one more uncorrelated contribution.
    #[must_use]
    pub fn with(self, component: Component) -> Self {
        let own = Component { standard: self.standard, dof: self.dof };
        Estimate::new(self.value, &[own, component])
    }

    /// The same quantity in another unit, `factor` of which make one of the present unit.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Estimate {
            value: self.value * factor,
            standard: self.standard * factor.abs(),
            dof: self.dof,
        }
    }

    /// Expanded uncertainty: half of the 95 % coverage interval.
    pub fn expanded(&self) -> f64 {
        coverage_factor(self.dof) * self.standard
    }
}

/// The factor that makes an expanded uncertainty of 95 % out of a standard one.
///
/// Fewer than one degree of freedom is taken as one.
pub fn coverage_factor(dof: f64) -> f64 {
    if dof.is_nan() || dof >= MANY {
        return NORMAL_95;
    }
    match StudentsT::new(0.0, 1.0, dof.max(1.0)) {
        Ok(student) => student.inverse_cdf(0.975),
        Err(_) => NORMAL_95,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008, table G.2, column 95 %.
    #[test]
    fn student_quantiles_are_those_of_the_gum() {
        for (dof, t) in [
            (1.0, 12.71),
            (2.0, 4.30),
            (3.0, 3.18),
            (4.0, 2.78),
            (5.0, 2.57),
            (10.0, 2.23),
            (20.0, 2.09),
            (50.0, 2.01),
            (100.0, 1.984),
            (f64::INFINITY, 1.960),
        ] {
            let found = coverage_factor(dof);
            assert!((found - t).abs() < 0.006, "{dof}: {found} is not {t}");
        }
    }

    #[test]
    fn the_step_to_the_normal_quantile_is_small() {
        let student = coverage_factor(MANY - 1.0);
        assert!((student / NORMAL_95 - 1.0).abs() < 4e-4);
    }

    /// JCGM 100:2008, example H.1 (end gauge): standard uncertainties in nanometres with their
    /// degrees of freedom; u_c = 32 nm and ν_eff = 16.7.
    #[test]
    fn welch_satterthwaite_of_the_end_gauge() {
        let length = Estimate::new(
            50_000_838.0,
            &[
                Component::type_a(25.0, 18.0),
                Component::type_a(9.7, 25.6),
                Component::type_a(2.9, 50.0),
                Component::type_a(16.6, 2.0),
            ],
        );
        assert!((length.standard - 31.7).abs() < 0.1, "{}", length.standard);
        assert!((length.dof - 16.7).abs() < 0.6, "{}", length.dof);
    }

    /// JCGM 100:2008, 4.3.7: a rectangular distribution of half-width a has u = a / √3.
    #[test]
    fn a_rectangle_has_its_half_width_over_root_three() {
        assert!((Component::rectangular(3.0).standard - 1.732_050_8).abs() < 1e-6);
    }

    #[test]
    fn adding_one_by_one_is_the_same_as_adding_at_once() {
        let a = Component::type_a(2.0, 7.0);
        let b = Component::rectangular(1.5);
        let c = Component::type_a(0.7, 3.0);
        let at_once = Estimate::new(1.0, &[a, b, c]);
        let one_by_one = Estimate::new(1.0, &[a]).with(b).with(c);
        assert!((at_once.standard - one_by_one.standard).abs() < 1e-12);
        assert!((at_once.dof - one_by_one.dof).abs() < 1e-9);
    }
}
