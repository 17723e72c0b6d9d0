//! So many of so many, and the share that this leaves open.

use serde::Serialize;
use statrs::distribution::{Beta, ContinuousCDF};

/// The chance that the interval leaves out on each side.
const TAIL: f64 = 0.025;

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Share {
    /// In so many of them it was so.
    pub of: u32,
    /// So many were tried.
    pub runs: u32,
}

impl Share {
    /// Counts one more.
    pub fn count(&mut self, is_so: bool) {
        self.runs += 1;
        self.of += u32::from(is_so);
    }

    /// The share; `None` of nothing.
    pub fn value(self) -> Option<f64> {
        (self.runs > 0).then(|| f64::from(self.of) / f64::from(self.runs))
    }

    /// Where the true share lies with 95 %: the exact interval of Clopper and Pearson (Biometrika 26,
    /// 1934, pp. 404 to 413), by quantiles of the beta distribution.
    pub fn interval(self) -> (f64, f64) {
        let (of, not) = (f64::from(self.of), f64::from(self.runs - self.of));
        let quantile = |a, b, p| Beta::new(a, b).map_or(f64::NAN, |beta| beta.inverse_cdf(p));
        let least = if self.of == 0 { 0.0 } else { quantile(of, not + 1.0, TAIL) };
        let most = if self.of == self.runs { 1.0 } else { quantile(of + 1.0, not, 1.0 - TAIL) };
        (least, most)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SciPy 1.17.1, `scipy.stats.binomtest(k, n).proportion_ci(method="exact")`; 0 of n and n of n besides
    /// in closed form, 1 - 0.025^(1/n).
    #[test]
    fn intervals_are_those_of_scipy() {
        for (of, runs, least, most) in SCIPY {
            let interval = Share { of, runs }.interval();
            assert!((interval.0 - least).abs() < 1e-9, "{of} of {runs}: {interval:?}");
            assert!((interval.1 - most).abs() < 1e-9, "{of} of {runs}: {interval:?}");
        }
        let none = Share { of: 0, runs: 30 };
        assert!((none.interval().1 - (1.0 - 0.025_f64.powf(1.0 / 30.0))).abs() < 1e-12);
    }

    const SCIPY: [(u32, u32, f64, f64); 5] = [
        (0, 10, 0.0, 0.30849710781876294),
        (3, 10, 0.06673951117773447, 0.652452850060008),
        (19, 20, 0.7512672372279723, 0.998734910502044),
        (200, 200, 0.9817246596448512, 1.0),
        (17, 1000, 0.009933512592716536, 0.027079496864807494),
    ];
}
