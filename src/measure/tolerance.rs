//! Limits that hold a stated share of a normal population, from a sample of it.
//!
//! A statistical tolerance interval `mean ± k·s` holds at least the share `coverage` of the
//! population with the probability `confidence`. The factor is the exact one for two sides
//! (ISO 16269-6; R. E. Odeh and D. B. Owen, "Tables for Normal Tolerance Limits, Sampling Plans and
//! Screening", 1980): with `r(z)` such that `Φ(z + r) − Φ(z − r) = coverage`,
//!
//! ```text
//! confidence = ∫ φ_n(z) · P(χ²_ν > ν·r(z)²/k²) dz      φ_n: normal with variance 1/n
//! ```
//!
//! `n` is the sample's size and `ν` are the degrees of freedom of `s`.

use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

/// Half of the steps of the integral over the mean (Simpson's rule).
const STEPS: i32 = 60;
/// How far the mean is looked at, in its own standard deviations.
const FAR: f64 = 8.0;
/// The largest factor that is looked for; two values at 99.9 % need less than 2,000.
const FACTOR_MAX: f64 = 1e5;

/// The factor for a two-sided tolerance interval of a normal population: `size` values whose
/// standard deviation has `dof` degrees of freedom. `None` where there is none: fewer than two
/// values, no degree of freedom, shares that are not between 0 and 1.
pub fn two_sided_factor(size: f64, dof: f64, coverage: f64, confidence: f64) -> Option<f64> {
    let is_share = |share: f64| share > 0.0 && share < 1.0;
    if size < 2.0 || dof < 1.0 || !is_share(coverage) || !is_share(confidence) {
        return None;
    }
    let normal = Normal::new(0.0, 1.0).ok()?;
    let scatter = ChiSquared::new(dof).ok()?;
    // The half-widths do not depend on the factor: find them once.
    let step = FAR / f64::from(STEPS);
    let nodes: Vec<(f64, f64)> = (0..=STEPS)
        .map(|i| {
            let deviations = f64::from(i) * step;
            let simpson = match i {
                0 | STEPS => 1.0,
                i if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            let density = (-0.5 * deviations * deviations).exp() / core::f64::consts::TAU.sqrt();
            let half = half_width(&normal, deviations / size.sqrt(), coverage);
            // Both sides of the mean.
            (2.0 * simpson * step / 3.0 * density, half)
        })
        .collect();
    let confidence_of = |factor: f64| -> f64 {
        let holds = |half: f64| scatter.sf(dof * (half / factor).powi(2));
        nodes.iter().map(|&(weight, half)| weight * holds(half)).sum()
    };
    let factor = bisect(0.0, FACTOR_MAX, |k| confidence_of(k) < confidence);
    (factor < 0.999 * FACTOR_MAX).then_some(factor)
}

/// The `r` with `Φ(z + r) − Φ(z − r) = coverage`.
fn half_width(normal: &Normal, z: f64, coverage: f64) -> f64 {
    bisect(0.0, z + 40.0, |r| normal.cdf(z + r) - normal.cdf(z - r) < coverage)
}

/// Where a condition that holds at `low` ceases to hold.
fn bisect(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if holds(middle) { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};
    use rand_xoshiro::Xoshiro256PlusPlus;

    fn factor(n: u32, coverage: f64, confidence: f64) -> f64 {
        let n = f64::from(n);
        two_sided_factor(n, n - 1.0, coverage, confidence).unwrap()
    }

    /// P. M. Berthouex and L. C. Brown, "Statistics for Environmental Engineers", 2nd ed., table
    /// 21.1: factors of two-sided tolerance intervals at a confidence of 95 %, for coverages of
    /// 90 %, 95 % and 99 %.
    #[test]
    fn factors_of_a_published_table() {
        let table = [
            (4, [5.37, 6.34, 8.22]),
            (5, [4.29, 5.08, 6.60]),
            (6, [3.73, 4.42, 5.76]),
            (7, [3.39, 4.02, 5.24]),
            (8, [3.16, 3.75, 4.89]),
            (9, [2.99, 3.55, 4.63]),
            (10, [2.86, 3.39, 4.44]),
            (12, [2.67, 3.17, 4.16]),
            (15, [2.49, 2.96, 3.89]),
            (20, [2.32, 2.76, 3.62]),
            (25, [2.22, 2.64, 3.46]),
            (30, [2.15, 2.55, 3.35]),
            (40, [2.06, 2.45, 3.22]),
            (60, [1.96, 2.34, 3.07]),
        ];
        for (n, row) in table {
            for (coverage, expected) in [0.90, 0.95, 0.99].into_iter().zip(row) {
                let found = factor(n, coverage, 0.95);
                assert!((found - expected).abs() < 0.012, "{n} {coverage}: {found} {expected}");
            }
        }
    }

    /// The exact factor of R's package EnvStats, as its manual prints it: `tolIntNormK(n = 20)`.
    #[test]
    fn a_factor_of_a_statistics_package() {
        let found = factor(20, 0.95, 0.95);
        assert!((found - 2.760_346).abs() < 2e-6, "{found}");
    }

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3: 43 wafers, 90 % of the population
    /// at a confidence of 99 %: k = 2.2173. That is Howe's approximation, which is good to 0.3 %.
    #[test]
    fn the_wafers_of_the_handbook() {
        let found = factor(43, 0.90, 0.99);
        assert!((found / 2.2173 - 1.0).abs() < 3e-3, "{found}");
    }

    /// With a great many values only the population's own spread is left: its quantile.
    #[test]
    fn many_values_leave_the_quantile() {
        let found = factor(1_000_000, 0.95, 0.95);
        assert!((found / 1.959_964 - 1.0).abs() < 2e-3, "{found}");
    }

    #[test]
    fn what_has_no_factor() {
        for (size, dof, coverage, confidence) in [
            (1.0, 1.0, 0.95, 0.95),
            (5.0, 0.0, 0.95, 0.95),
            (5.0, 4.0, 1.0, 0.95),
            (5.0, 4.0, 0.95, 0.0),
            (5.0, 4.0, f64::NAN, 0.95),
        ] {
            assert_eq!(two_sided_factor(size, dof, coverage, confidence), None);
        }
    }

    /// The promise itself: of many samples, so many intervals hold so much of the population.
    #[test]
    fn the_interval_holds_what_it_promises_as_often_as_it_promises() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(11);
        let normal = Normal::new(0.0, 1.0).unwrap();
        let (n, runs) = (8, 20_000);
        let k = factor(n, 0.90, 0.95);
        let mut holds = 0;
        for _ in 0..runs {
            let x: Vec<f64> = (0..n).map(|_| StandardNormal.sample(&mut rng)).collect();
            let mean = x.iter().sum::<f64>() / f64::from(n);
            let variance = x.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / f64::from(n - 1);
            let half = k * variance.sqrt();
            holds += u32::from(normal.cdf(mean + half) - normal.cdf(mean - half) >= 0.90);
        }
        // Four standard deviations of the binomial distribution.
        let share = f64::from(holds) / f64::from(runs);
        let allowed = 4.0 * (0.95 * 0.05 / f64::from(runs)).sqrt();
        assert!((share - 0.95).abs() < allowed, "{share}");
    }
}
