//! From which severity on nearly all are found.
//!
//! The share found grows with the logarithm of the severity as a logistic curve, which has a middle and
//! a width. All middles and widths on a grid are weighed by how well they explain what was found (Bayes'
//! rule; beforehand all middles are alike, and all logarithms of the width), so that a fault that is found
//! surely from one severity on, and never below it, has an interval as well: a best fit would have none.

use super::share::Share;

/// This share counts as nearly all.
pub const NEARLY_ALL: f64 = 0.95;

/// Middles on the grid, and widths.
const MIDDLES: usize = 160;
const WIDTHS: usize = 60;
/// The narrowest width, as a share of the whole course.
const NARROWEST: f64 = 1e-5;
/// How often the grid is laid anew, over what has weight on the one before.
const ZOOMS: usize = 6;
/// Less than this share of the largest weight is none.
const NOTHING: f64 = 1e-7;
/// The chance that an interval leaves out on each side.
const TAIL: f64 = 0.025;

/// What was found at one severity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tried {
    /// The logarithm of the severity; the larger, the worse.
    pub log: f64,
    /// Found of those tried.
    pub found: Share,
}

/// The curves that explain what was found, each with its weight.
#[derive(Clone, Debug)]
pub struct Curves {
    /// Middle, width, weight; the weights make one.
    weighed: Vec<(f64, f64, f64)>,
}

/// A logarithm of a severity, with its interval of 95 %.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// As likely less as more.
    pub median: f64,
    /// From here.
    pub least: f64,
    /// To here.
    pub most: f64,
}

impl Curves {
    /// Those that explain what was found on a course between two logarithms, `mild` below `worst`.
    pub fn explaining(tried: &[Tried], mild: f64, worst: f64) -> Self {
        let span = worst - mild;
        let mut grid = Grid {
            middles: (mild - 0.5 * span, worst + 0.5 * span),
            log_widths: ((NARROWEST * span).ln(), span.ln()),
        };
        let mut weighed = grid.weighed(tried);
        for _ in 0..ZOOMS {
            grid = grid.closer(&weighed);
            weighed = grid.weighed(tried);
        }
        Curves { weighed }
    }

    /// Where the curve reaches this share.
    pub fn reaches(&self, share: f64) -> Estimate {
        let odds = (share / (1.0 - share)).ln();
        let mut at: Vec<(f64, f64)> = self
            .weighed
            .iter()
            .map(|(middle, width, weight)| (middle + width * odds, *weight))
            .collect();
        at.sort_by(|a, b| a.0.total_cmp(&b.0));
        let quantile = |p: f64| {
            let mut sum = 0.0;
            let found = at.iter().find(|(_, weight)| {
                sum += weight;
                sum >= p
            });
            found.or(at.last()).map_or(f64::NAN, |(log, _)| *log)
        };
        Estimate { median: quantile(0.5), least: quantile(TAIL), most: quantile(1.0 - TAIL) }
    }
}

/// Middles and logarithms of widths, each from one value to another in equal steps.
#[derive(Clone, Copy, Debug)]
struct Grid {
    middles: (f64, f64),
    log_widths: (f64, f64),
}

impl Grid {
    fn steps(&self) -> (f64, f64) {
        let ((from, to), (narrow, wide)) = (self.middles, self.log_widths);
        ((to - from) / (MIDDLES - 1) as f64, (wide - narrow) / (WIDTHS - 1) as f64)
    }

    /// Middle, width and weight at every point.
    fn weighed(&self, tried: &[Tried]) -> Vec<(f64, f64, f64)> {
        let (by, wider) = self.steps();
        let at = |i: usize, j: usize| {
            let middle = self.middles.0 + by * i as f64;
            let width = (self.log_widths.0 + wider * j as f64).exp();
            (middle, width, log_likelihood(tried, middle, width))
        };
        let mut weighed: Vec<_> =
            (0..MIDDLES).flat_map(|i| (0..WIDTHS).map(move |j| at(i, j))).collect();
        let best = weighed.iter().map(|w| w.2).fold(f64::NEG_INFINITY, f64::max);
        weighed.iter_mut().for_each(|w| w.2 = (w.2 - best).exp());
        let sum: f64 = weighed.iter().map(|w| w.2).sum();
        weighed.iter_mut().for_each(|w| w.2 /= sum);
        weighed
    }

    /// The part of it that has weight, and a step on each side.
    fn closer(&self, weighed: &[(f64, f64, f64)]) -> Grid {
        let largest = weighed.iter().map(|w| w.2).fold(0.0, f64::max);
        let heavy = weighed.iter().filter(|w| w.2 >= NOTHING * largest);
        let (by, wider) = self.steps();
        let none = (f64::INFINITY, f64::NEG_INFINITY);
        let within = |(least, most): (f64, f64), value: f64| (least.min(value), most.max(value));
        let (middles, log_widths) = heavy.fold((none, none), |(middles, widths), w| {
            (within(middles, w.0), within(widths, w.1.ln()))
        });
        let inside = |(least, most): (f64, f64), step: f64, (from, to): (f64, f64)| {
            ((least - step).max(from), (most + step).min(to))
        };
        Grid {
            middles: inside(middles, by, self.middles),
            log_widths: inside(log_widths, wider, self.log_widths),
        }
    }
}

fn log_likelihood(tried: &[Tried], middle: f64, width: f64) -> f64 {
    let of = |t: &Tried| {
        let x = (t.log - middle) / width;
        // ln(1 / (1 + e^-x)), and the same of -x, without overflow.
        let log_share = -ln_1p_exp(-x);
        let log_rest = -ln_1p_exp(x);
        f64::from(t.found.of) * log_share + f64::from(t.found.runs - t.found.of) * log_rest
    };
    tried.iter().map(of).sum()
}

/// ln(1 + e^x).
fn ln_1p_exp(x: f64) -> f64 {
    x.max(0.0) + (-x.abs()).exp().ln_1p()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bliss's beetles under carbon disulphide (C. I. Bliss, Annals of Applied Biology 22, 1935): logarithm
    /// of the dose, beetles, killed.
    const BEETLES: [(f64, u32, u32); 8] = [
        (1.6907, 59, 6),
        (1.7242, 60, 13),
        (1.7552, 62, 18),
        (1.7842, 56, 28),
        (1.8113, 63, 52),
        (1.8369, 59, 53),
        (1.8610, 62, 61),
        (1.8839, 60, 60),
    ];

    fn beetles() -> Curves {
        let tried = BEETLES.map(|(log, runs, of)| Tried { log, found: Share { of, runs } });
        Curves::explaining(&tried, 1.69, 1.89)
    }

    /// Dobson, An Introduction to Generalized Linear Models, table 7.4: -60.717 and 34.270. statsmodels
    /// 0.15.0, `GLM` with `Binomial`, says the same; its standard errors by the delta method.
    #[test]
    fn beetles_are_killed_where_dobson_and_statsmodels_say() {
        for (share, log, standard) in
            [(0.5, 1.7717209644, 0.0038580553), (NEARLY_ALL, 1.8576389975, 0.0077365060)]
        {
            let at = beetles().reaches(share);
            assert!((at.median - log).abs() < 0.2 * standard, "{at:?} {log}");
            let half = (at.most - at.least) / 2.0;
            assert!((half / (1.96 * standard) - 1.0).abs() < 0.1, "{at:?} {standard}");
        }
    }

    /// Surely found from one severity on, never below: the threshold lies between the two.
    #[test]
    fn a_sharp_edge_lies_between_the_last_that_is_missed_and_the_first_that_is_found() {
        let at = |log, of| Tried { log, found: Share { of, runs: 10 } };
        let tried = [at(0.0, 0), at(1.0, 0), at(2.0, 10), at(3.0, 10)];
        let edge = Curves::explaining(&tried, 0.0, 3.0).reaches(NEARLY_ALL);
        assert!(1.0 < edge.median && edge.median < 2.2, "{edge:?}");
        assert!(edge.least < edge.median && edge.median < edge.most, "{edge:?}");
    }

    #[test]
    fn what_is_never_found_has_its_threshold_beyond_the_worst() {
        let at = |log| Tried { log, found: Share { of: 0, runs: 20 } };
        let edge = Curves::explaining(&[at(0.0), at(1.0), at(2.0)], 0.0, 2.0).reaches(NEARLY_ALL);
        assert!(edge.median > 2.0, "{edge:?}");
    }
}
