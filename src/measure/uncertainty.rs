//! Standard uncertainties put together and expanded.
//!
//! Source: JCGM 100:2008 (GUM), clauses 4.3.7 (rectangular distribution), 5.1.2 (combination of
//! uncorrelated inputs), 5.2.2 and F.1.2.3 (correlated inputs), G.4.1 (Welch–Satterthwaite) and G.3
//! (Student quantile).

use super::budget::Budget;
pub use super::component::Component;
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Two-sided 95 % quantile of the normal distribution.
pub const NORMAL_95: f64 = 1.959_963_984_540_054;

/// Beyond this many degrees of freedom Student's quantile is taken as the normal one: they differ
/// by less than 3 in 10,000.
const MANY: f64 = 4_000.0;

/// Covariance of two results that come from the same correlated inputs. `a` and `b` are what each
/// input contributes to either result: its sensitivity coefficient, with its sign, times its
/// standard uncertainty. `correlation` holds the correlation coefficients of the inputs.
pub fn covariance<const N: usize>(a: &[f64; N], b: &[f64; N], correlation: &[[f64; N]; N]) -> f64 {
    let row = |r: &[f64; N]| r.iter().zip(b).map(|(r, b)| r * b).sum::<f64>();
    a.iter().zip(correlation).map(|(a, r)| a * row(r)).sum()
}

/// Combined standard uncertainty of correlated inputs; see [`covariance`].
pub fn correlated<const N: usize>(contributions: &[f64; N], correlation: &[[f64; N]; N]) -> f64 {
    // Rounding can take a fully correlated difference a little below zero.
    covariance(contributions, contributions, correlation).max(0.0).sqrt()
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
    /// What the uncertainty is made of.
    pub budget: Budget,
}

impl Estimate {
    /// Combines uncorrelated contributions.
    pub fn new(value: f64, components: &[Component]) -> Self {
        Estimate::of(value, Budget::of(components))
    }

    /// A value with its budget.
    pub fn of(value: f64, budget: Budget) -> Self {
        Estimate { value, standard: budget.standard(), dof: budget.dof(), budget }
    }

    /// Adds one more uncorrelated contribution.
    #[must_use]
    pub fn with(self, component: Component) -> Self {
        let mut budget = self.budget;
        budget.add(&component);
        Estimate::of(self.value, budget)
    }

    /// The same quantity in another unit, `factor` of which make one of the present unit.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Estimate::of(self.value * factor, self.budget.scaled(factor))
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

    /// JCGM 100:2008, example H.2 (simultaneous resistance and reactance): five sets of voltage,
    /// current and phase (table H.2); means, their standard deviations and correlations after H.2.3;
    /// results of table H.4: R = 127.732 Ω, X = 219.847 Ω, Z = 254.260 Ω, u = 0.071 Ω, 0.295 Ω and
    /// 0.236 Ω, r(R,X) = −0.588, r(R,Z) = −0.485, r(X,Z) = 0.993.
    #[test]
    fn correlated_inputs_of_resistance_and_reactance() {
        let sets = [
            [5.007, 19.663e-3, 1.0456],
            [4.994, 19.639e-3, 1.0438],
            [5.005, 19.640e-3, 1.0468],
            [4.990, 19.685e-3, 1.0428],
            [4.999, 19.678e-3, 1.0433],
        ];
        let mean: [f64; 3] = core::array::from_fn(|i| sets.iter().map(|s| s[i]).sum::<f64>() / 5.0);
        let of_means = |i: usize, j: usize| -> f64 {
            sets.iter().map(|s| (s[i] - mean[i]) * (s[j] - mean[j])).sum::<f64>() / (5.0 * 4.0)
        };
        let u: [f64; 3] = core::array::from_fn(|i| of_means(i, i).sqrt());
        let r: [[f64; 3]; 3] =
            core::array::from_fn(|i| core::array::from_fn(|j| of_means(i, j) / (u[i] * u[j])));
        let [volt, ampere, phase] = mean;
        let z = volt / ampere;
        let (x, ohm) = (z * phase.sin(), z * phase.cos());
        let of_r = [ohm / volt * u[0], -ohm / ampere * u[1], -x * u[2]];
        let of_x = [x / volt * u[0], -x / ampere * u[1], ohm * u[2]];
        let of_z = [z / volt * u[0], -z / ampere * u[1], 0.0];
        for (value, contributions, wanted, wanted_u) in
            [(ohm, of_r, 127.732, 0.071), (x, of_x, 219.847, 0.295), (z, of_z, 254.260, 0.236)]
        {
            let found_u = correlated(&contributions, &r);
            assert!((value - wanted).abs() < 6e-4, "{value} is not {wanted}");
            assert!((found_u - wanted_u).abs() < 6e-4, "{found_u} is not {wanted_u}");
        }
        for (a, b, wanted) in [(of_r, of_x, -0.588), (of_r, of_z, -0.485), (of_x, of_z, 0.993)] {
            let found = covariance(&a, &b, &r) / (correlated(&a, &r) * correlated(&b, &r));
            assert!((found - wanted).abs() < 6e-4, "{found} is not {wanted}");
        }
    }

    /// GUM 5.2.2: inputs that are fully correlated add up, or cancel.
    #[test]
    fn full_correlation_adds_linearly() {
        let full = [[1.0, 1.0], [1.0, 1.0]];
        assert!((correlated(&[3.0, 4.0], &full) - 7.0).abs() < 1e-12);
        assert!(correlated(&[0.1, -0.1], &full) < 1e-9);
        assert!((correlated(&[3.0, 4.0], &[[1.0, 0.0], [0.0, 1.0]]) - 5.0).abs() < 1e-12);
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
