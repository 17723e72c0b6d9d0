//! The tally of readings against the truth, against what their budgets and risks predict.

use super::bench::Held;
use core::fmt;
use musterbench::judge::reading::{Quantity, Verdict};
use musterbench::judge::risk::conformance;
use musterbench::judge::verdict::Window;
use musterbench::measure::coverage::Errors;
use musterbench::measure::uncertainty::Estimate;
use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;
use statrs::distribution::{Beta, ContinuousCDF, DiscreteCDF, Poisson};
use std::collections::BTreeMap;

/// Errors drawn from the budget of each reading.
const DRAWS: u32 = 40;
/// The share that must lie inside.
const LEAST: f64 = 0.94;
/// How far the share may be from the predicted one.
const AGREE: f64 = 0.01;
/// How sure a bound on a count is.
const SURE: f64 = 0.999;
/// The same, one-sided, in standard deviations.
const SURE_DEVIATIONS: f64 = 3.09;
/// The most misses that are kept to be told.
const MISSES: usize = 2_000;

/// Readings of one quantity.
#[derive(Clone, Debug, Default)]
struct Row {
    readings: usize,
    inside: f64,
    predicted: f64,
    expanded: f64,
    /// Error over expanded uncertainty: its sum, and its largest size.
    bias: f64,
    worst: f64,
    /// Squares of the errors over the expanded uncertainty, and of the standard one over it.
    off: f64,
    stated: f64,
    passes: usize,
    /// Passes that are truly outside, and how many were foreseen; the same by more than the guard
    /// band.
    outside: usize,
    foreseen: f64,
    beyond: usize,
    foreseen_beyond: f64,
    /// Modules, and the sum of squares of each module's misses beyond those predicted: readings of
    /// one module share its jig's errors.
    modules: usize,
    squares: f64,
    /// Of each module's readings that hold the truth, and of its readings: squares and products.
    by_module: [f64; 3],
}

/// All of them.
#[derive(Default)]
pub struct Table {
    rows: BTreeMap<&'static str, Row>,
    misses: Vec<String>,
}

impl Table {
    /// Adds the readings of one module.
    pub fn add(&mut self, seed: u64, held: &[Held]) {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
        // Held, held more often than predicted, and readings.
        let mut of_module: BTreeMap<&'static str, [f64; 3]> = BTreeMap::new();
        for Held { reading, truth } in held {
            let (Some(value), Some(expanded), Some(budget)) =
                (reading.value, reading.uncertainty, reading.budget)
            else {
                continue;
            };
            let row = self.rows.entry(name(reading.quantity)).or_default();
            let off = (value - truth) / expanded;
            let inside = f64::from(u8::from(off.abs() <= 1.0));
            let predicted = Errors::of(&budget).share_within(expanded, DRAWS, &mut rng);
            row.readings += 1;
            row.inside += inside;
            row.predicted += predicted;
            row.expanded += expanded;
            row.bias += off;
            row.worst = row.worst.max(off.abs());
            row.off += off * off;
            row.stated += (budget.standard() / expanded).powi(2);
            let sums = of_module.entry(name(reading.quantity)).or_default();
            for (sum, more) in sums.iter_mut().zip([inside, inside - predicted, 1.0]) {
                *sum += more;
            }
            if off.abs() > 1.0 && self.misses.len() < MISSES {
                self.misses.push(format!(
                    "seed {seed} {} {} {:?}{:?}: {value:.7e} ± {expanded:.2e}, truly {truth:.7e} \
                     ({off:+.2} U) {} {}",
                    reading.step,
                    reading.quantity.name(),
                    reading.output,
                    reading.position,
                    serde_json::to_string(&budget).unwrap_or_default(),
                    reading.note
                ));
            }
            let limits = Window { lower: reading.lower_limit, upper: reading.upper_limit };
            if reading.verdict == Verdict::Pass && limits != Window::OPEN {
                let beyond = Window {
                    lower: limits.lower.map(|l| l - expanded),
                    upper: limits.upper.map(|u| u + expanded),
                };
                let estimate = Estimate::of(value, budget);
                let is_outside = |w: &Window| {
                    w.lower.is_some_and(|l| *truth < l) || w.upper.is_some_and(|u| *truth > u)
                };
                row.passes += 1;
                row.outside += usize::from(is_outside(&limits));
                row.foreseen += conformance(&estimate, &limits, None).outside;
                row.beyond += usize::from(is_outside(&beyond));
                row.foreseen_beyond += conformance(&estimate, &beyond, None).outside;
            }
        }
        for (name, [inside, surplus, readings]) in of_module {
            let row = self.rows.entry(name).or_default();
            row.modules += 1;
            row.squares += surplus * surplus;
            let more = [inside * inside, inside * readings, readings * readings];
            row.by_module.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
        }
    }

    /// The quantities whose share of intervals that hold the truth is too small for chance: the upper
    /// 99.9 % bound of the share lies below 94 %. Readings of one module depend on each other, so the
    /// bound is that from module to module where it is wider than the binomial one (Clopper and Pearson,
    /// *Biometrika* 26 (1934) 404).
    pub fn too_seldom(&self) -> Vec<String> {
        let below = |(name, row): (&&'static str, &Row)| {
            let (hits, missed) = (row.inside, row.readings as f64 - row.inside);
            let most = if missed < 0.5 {
                1.0
            } else {
                Beta::new(hits + 1.0, missed).map_or(1.0, |b| b.inverse_cdf(SURE))
            };
            let most = most.max(row.share() + SURE_DEVIATIONS * row.scatter_of_share());
            (most < LEAST)
                .then(|| format!("{name} {:.2} % of {}", 100.0 * row.share(), row.readings))
        };
        self.rows.iter().filter_map(below).collect()
    }

    /// Each quantity's share with its predicted one, in per cent, and the root of the mean of (error/u)², as
    /// lines of a table.
    pub fn lines(&self, of: &dyn fmt::Display) -> Vec<String> {
        let line = |(name, row): (&&'static str, &Row)| {
            let shares = [row.share(), row.predicted_share()].map(|share| 100.0 * share);
            let spread = (row.off / row.stated).sqrt();
            format!(
                "| {of} | {name} | {} | {:.3} | {:.3} | {spread:.3} |",
                row.readings, shares[0], shares[1]
            )
        };
        self.rows.iter().map(line).collect()
    }

    /// The quantities whose share is not the predicted one within 1 %, chance left aside that is no wider
    /// than its own standard deviations from module to module.
    pub fn apart(&self) -> Vec<String> {
        let is_apart = |(_, row): &(&&'static str, &Row)| {
            (row.share() - row.predicted_share()).abs() > AGREE + SURE_DEVIATIONS * row.scatter()
        };
        let told = |(name, row): (&&'static str, &Row)| {
            format!(
                "{name} {:.2} %, predicted {:.2} %",
                100.0 * row.share(),
                100.0 * row.predicted_share()
            )
        };
        self.rows.iter().filter(is_apart).map(told).collect()
    }

    /// Adds another table.
    pub fn merge(&mut self, other: Table) {
        for (name, more) in other.rows {
            let row = self.rows.entry(name).or_default();
            row.readings += more.readings;
            row.inside += more.inside;
            row.predicted += more.predicted;
            row.expanded += more.expanded;
            row.bias += more.bias;
            row.worst = row.worst.max(more.worst);
            row.off += more.off;
            row.stated += more.stated;
            row.passes += more.passes;
            row.outside += more.outside;
            row.foreseen += more.foreseen;
            row.beyond += more.beyond;
            row.foreseen_beyond += more.foreseen_beyond;
            row.modules += more.modules;
            row.squares += more.squares;
            row.by_module.iter_mut().zip(more.by_module).for_each(|(sum, more)| *sum += more);
        }
        self.misses.extend(other.misses);
    }

    /// The readings whose interval does not hold the truth, as text.
    pub fn misses(&self) -> impl Iterator<Item = &String> {
        self.misses.iter()
    }

    /// Every promise, with room for so many standard deviations of chance.
    pub fn assert_honest(&self, deviations: f64) {
        let mut broken = Vec::new();
        for (name, row) in &self.rows {
            let (share, predicted) = (row.share(), row.predicted_share());
            let chance = deviations * row.scatter();
            if share < LEAST - chance {
                broken.push(format!("{name}: only {share:.4} inside"));
            }
            if (share - predicted).abs() > AGREE + chance {
                broken.push(format!("{name}: {share:.4} inside, {predicted:.4} predicted"));
            }
            for (found, foreseen) in
                [(row.outside, row.foreseen), (row.beyond, row.foreseen_beyond)]
            {
                if found as u64 > bound(foreseen) {
                    broken.push(format!("{name}: {found} wrongly passed, {foreseen:.2} foreseen"));
                }
            }
        }
        assert!(broken.is_empty(), "{}", broken.join("\n"));
    }
}

impl Row {
    fn share(&self) -> f64 {
        self.inside / self.readings as f64
    }

    fn predicted_share(&self) -> f64 {
        self.predicted / self.readings as f64
    }

    /// Standard deviation of the share about the predicted one by chance: from module to module,
    /// since readings of one module depend on each other; and no less than independent ones would, if what is
    /// predicted is true: where hardly any miss, their own scatter says little.
    fn scatter(&self) -> f64 {
        let (n, predicted) = (self.readings as f64, self.predicted_share());
        self.squares.max(n * predicted * (1.0 - predicted)).sqrt() / n
    }

    /// Standard deviation of the share about itself, from module to module (W. G. Cochran, *Sampling
    /// Techniques*, 3rd ed. 1977, 11.9: a ratio of sums over clusters; from memory).
    fn scatter_of_share(&self) -> f64 {
        let (share, [hits, both, readings]) = (self.share(), self.by_module);
        let squares = hits - 2.0 * share * both + share * share * readings;
        squares.max(0.0).sqrt() / self.readings as f64
    }
}

/// The most that a count with small chances reaches: Poisson's distribution bounds the binomial one
/// from above (Hodges and Le Cam, *Annals of Mathematical Statistics* 31 (1960) 737).
fn bound(foreseen: f64) -> u64 {
    Poisson::new(foreseen.max(1e-12)).map_or(0, |p| p.inverse_cdf(SURE))
}

fn name(quantity: Quantity) -> &'static str {
    quantity.name()
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| simulated quantity | readings | mean U | mean error / U | worst / U | inside % | predicted % | \
             passes | outside | foreseen | at most | outside by > U | foreseen | at most |"
        )?;
        writeln!(f, "|{}", " --- |".repeat(14))?;
        for (name, row) in &self.rows {
            let n = row.readings as f64;
            writeln!(
                f,
                "| {name} | {} | {:.2e} | {:+.2} | {:.2} | {:.2} | {:.2} | {} | {} | {:.2} | {} | {} | {:.3} | {} |",
                row.readings,
                row.expanded / n,
                row.bias / n,
                row.worst,
                100.0 * row.share(),
                100.0 * row.predicted_share(),
                row.passes,
                row.outside,
                row.foreseen,
                bound(row.foreseen),
                row.beyond,
                row.foreseen_beyond,
                bound(row.foreseen_beyond),
            )?;
        }
        Ok(())
    }
}
