//! How far samples scatter, and how much those that depend on each other say of their mean.
//!
//! Sources: N. F. Zhang, "Calculation of the uncertainty of the mean of autocorrelated
//! measurements", Metrologia 43 (2006) S276: u² = s²/n · [1 + 2 Σ (1 − k/n) r_k]. The sum runs over
//! pairs of lags as long as these are positive (the initial positive sequence of C. J. Geyer,
//! "Practical Markov chain Monte Carlo", Statistical Science 7 (1992) 473), since a cut at the lag
//! where r_k is no longer significant makes the uncertainty too small.

/// The longest lag looked at, as a share of the window.
const LONGEST_LAG: usize = 4;

/// Samples as what they lie off their mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Deviations {
    mean: f64,
    off: Vec<f64>,
    squares: f64,
}

impl Deviations {
    /// Of the samples of a window.
    pub fn of(mut values: Vec<f64>) -> Self {
        let mean = values.iter().sum::<f64>() / values.len().max(1) as f64;
        values.iter_mut().for_each(|v| *v -= mean);
        let squares = products(&values, 0);
        Deviations { mean, off: values, squares }
    }

    /// Mean of the samples.
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// What each sample lies off it.
    pub fn off(&self) -> &[f64] {
        &self.off
    }

    /// Experimental standard deviation of one sample.
    pub fn standard(&self) -> f64 {
        (self.squares / (self.off.len() as f64 - 1.0).max(1.0)).sqrt()
    }

    /// Autocorrelation coefficient of samples so many apart; 0 where nothing scatters.
    pub fn autocorrelation(&self, lag: usize) -> f64 {
        if self.squares > 0.0 { products(&self.off, lag) / self.squares } else { 0.0 }
    }

    /// The factor by which autocorrelation widens the variance of the mean; never below 1: negative
    /// correlation is not trusted.
    pub fn inflation(&self) -> f64 {
        let n = self.off.len();
        if self.squares <= 0.0 {
            return 1.0;
        }
        let weighted = |lag: usize| (1.0 - lag as f64 / n as f64) * self.autocorrelation(lag);
        let mut sum = 0.0;
        for lag in (0..=n / LONGEST_LAG).step_by(2) {
            let pair = weighted(lag) + weighted(lag + 1);
            if pair <= 0.0 {
                break;
            }
            sum += pair;
        }
        (2.0 * sum - 1.0).max(1.0)
    }
}

/// Sum of products of what lies `lag` places apart, in four sums side by side: a processor adds
/// those at once.
fn products(off: &[f64], lag: usize) -> f64 {
    let (early, late) = (&off[..off.len().saturating_sub(lag)], &off[lag.min(off.len())..]);
    let mut sums = [0.0; 4];
    let (fours_early, rest_early) = early.as_chunks::<4>();
    let (fours_late, rest_late) = late.as_chunks::<4>();
    for (a, b) in fours_early.iter().zip(fours_late) {
        for i in 0..4 {
            sums[i] += a[i] * b[i];
        }
    }
    let rest: f64 = rest_early.iter().zip(rest_late).map(|(a, b)| a * b).sum();
    sums.iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mean::Mean;

    /// A file of the folder: certified mean, standard deviation and lag-1 autocorrelation, values.
    fn certified(file: &str) -> ([f64; 3], Vec<f64>) {
        let number = |word: &str| word.parse::<f64>().expect("a number");
        let (head, data): (Vec<_>, Vec<_>) = file.lines().partition(|line| line.starts_with('#'));
        let of = |name: &str| {
            let value = head.iter().find_map(|l| l.strip_prefix(&format!("# certified {name}: ")));
            number(value.expect("a certified value"))
        };
        let certified = [of("mean"), of("standard deviation"), of("lag-1 autocorrelation")];
        (certified, data.iter().flat_map(|line| line.split_whitespace()).map(number).collect())
    }

    /// Right digits against the certified value (NIST's LRE), at most the fifteen that are given.
    fn digits(found: f64, certified: f64) -> f64 {
        -((found - certified) / certified).abs().max(1e-15).log10()
    }

    /// NIST Statistical Reference Datasets, univariate summary statistics, all nine. The numbers of
    /// the real-world sets are those of the GNU Scientific Library 2.7.1 (`statistics/test_nist.c`);
    /// the constructed ones follow from their description.
    ///
    /// Values that share their leading digits are rounded where they are read, by up to half of
    /// their last binary digit: what that is of the standard deviation, no arithmetic wins back.
    #[test]
    fn nist_certified_data() {
        for (name, file) in [
            ("PiDigits", include_str!("../../tests/reference/nist-univariate/PiDigits.dat")),
            ("Lottery", include_str!("../../tests/reference/nist-univariate/Lottery.dat")),
            ("Lew", include_str!("../../tests/reference/nist-univariate/Lew.dat")),
            ("Mavro", include_str!("../../tests/reference/nist-univariate/Mavro.dat")),
            ("Michelso", include_str!("../../tests/reference/nist-univariate/Michelso.dat")),
            ("NumAcc1", include_str!("../../tests/reference/nist-univariate/NumAcc1.dat")),
            ("NumAcc2", include_str!("../../tests/reference/nist-univariate/NumAcc2.dat")),
            ("NumAcc3", include_str!("../../tests/reference/nist-univariate/NumAcc3.dat")),
            ("NumAcc4", include_str!("../../tests/reference/nist-univariate/NumAcc4.dat")),
        ] {
            let ([mean, deviation, first], values) = certified(file);
            let whole = values.iter().all(|v| v.fract() == 0.0);
            let rounded = if whole { 0.0 } else { mean.abs() * f64::EPSILON / 2.0 };
            let can_be = -(rounded / deviation).max(1e-15).log10();
            let (window, samples) = (Mean::of(&values).unwrap(), Deviations::of(values));
            let found = [
                digits(window.value, mean),
                digits(window.deviation, deviation),
                digits(samples.autocorrelation(1), first),
            ];
            println!("{name:8} {found:5.1?} of {can_be:.1}");
            assert!(found[0] >= 14.0, "{name}: the mean has {:.1} right digits", found[0]);
            for right in &found[1..] {
                assert!(*right >= can_be.min(13.0), "{name}: {right:.1} right digits of {can_be}");
            }
            assert_eq!((samples.mean(), samples.standard()), (window.value, window.deviation));
        }
    }
}
