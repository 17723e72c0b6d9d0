//! From how well each cause explains a run to how likely it is.

use super::bench::{Asked, Benches};
use super::likelihood::{Between, log_likelihood};
use super::odds::Odds;
use super::search::{SOUND, Searched, Told, Tried, singles};
use super::seen::SeenRun;
use crate::blame::Blame;
use core::sync::atomic::AtomicBool;

/// The logarithm of a likelihood counts this part of itself: readings are no independent witnesses, whatever is
/// done about it. Set, not fitted.
pub const TEMPERATURE: f64 = 2.5;

/// So many fresh runs with the likeliest cause tell whether it explains the one that was seen.
const FRESH: usize = 16;

/// Suspects that are told apart less often than this are one group (total variation).
pub const ALIKE: f64 = 0.1;

/// A cause with its probability.
#[derive(Clone, Debug)]
pub struct Suspect {
    /// Which of those that were tried.
    pub tried: usize,
    /// Its probability.
    pub probability: f64,
}

/// What all causes together come to.
#[derive(Clone, Debug)]
pub struct Posterior {
    /// The causes, the likeliest first.
    pub suspects: Vec<Suspect>,
    /// The probability that it is none of them.
    pub none: f64,
    /// How often a run with the likeliest cause fits as badly as this one.
    pub fit: f64,
    /// Those that look like the likeliest, and it itself.
    pub alike: Vec<usize>,
}

/// How likely each cause is, but for none of them.
pub fn weigh(searched: &Searched, temperature: f64) -> Vec<Suspect> {
    let score = |tried: &Tried| tried.log_marginal() / temperature + tried.prior.max(1e-300).ln();
    let scores: Vec<f64> = searched.tried.iter().map(score).collect();
    let most = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = scores.iter().map(|score| (score - most).exp()).sum();
    let mut suspects: Vec<Suspect> = scores
        .iter()
        .enumerate()
        .map(|(tried, score)| Suspect { tried, probability: (score - most).exp() / sum })
        .collect();
    suspects.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    suspects
}

fn at_best(tried: &Tried) -> Option<Between<'_>> {
    let best = tried.best().at;
    let nearest = tried.effects.iter().min_by_key(|(at, _)| at.abs_diff(best))?;
    Some(Between { mild: nearest.1, worse: nearest.1, way: 1.0 })
}

/// The whole of it: single causes, two at a time where none of them explains the run, and what they come to.
/// `None` if it was stopped.
pub fn reason(
    benches: &mut Benches<'_>,
    odds: &Odds,
    seen: &SeenRun,
    stop: &AtomicBool,
    told: Told<'_>,
) -> Option<(Searched, Posterior)> {
    let mut searched = singles(benches, odds, seen, stop, told)?;
    let mut weighed = conclude(benches, &searched, odds, TEMPERATURE, seen, stop, told)?;
    if weighed.fit < PAIRS_BELOW {
        searched.pairs(benches, odds, seen, stop, told)?;
        weighed = conclude(benches, &searched, odds, TEMPERATURE, seen, stop, told)?;
    }
    Some((searched, weighed))
}

/// Two causes at a time are tried where a run with the best single one fits so badly less often than that.
const PAIRS_BELOW: f64 = 0.02;

/// Whether the likeliest explains it at all, and which look like it.
pub fn conclude(
    benches: &mut Benches<'_>,
    searched: &Searched,
    odds: &Odds,
    temperature: f64,
    seen: &SeenRun,
    stop: &AtomicBool,
    told: Told<'_>,
) -> Option<Posterior> {
    let mut suspects = weigh(searched, temperature);
    let first = suspects[0].tried;
    let tried = &searched.tried[first];
    let best = tried.best();
    let wrong = tried.cause.at(tried.severities.all[best.at]);
    let fresh: Vec<Asked> =
        (0..FRESH).map(|i| Asked { wrong: wrong.clone(), draw: SOUND + i }).collect();
    let runs = benches.run(&fresh, stop, told)?;
    let sound = &searched.sound;
    let log = |run: &SeenRun, of: &Tried| {
        at_best(of).map_or(f64::NEG_INFINITY, |between| log_likelihood(sound, run, between))
    };
    let own: Vec<f64> = runs.iter().map(|run| log(run, tried)).collect();
    let here = log(seen, tried).max(best.log);
    let fit = how_often(&own, here);
    // The most that a test of fit speaks against what it tests: -e p ln p (T. Sellke, M. Bayarri and J. Berger,
    // Calibration of p values, The American Statistician 55, 2001, pp. 62 to 71).
    let against = if fit < (-1.0_f64).exp() { -std::f64::consts::E * fit * fit.ln() } else { 1.0 };
    let all: f64 = searched.tried.iter().map(|tried| tried.prior).sum::<f64>().max(1e-12);
    let none = odds.none / (odds.none + all * against);
    for suspect in &mut suspects {
        suspect.probability *= 1.0 - none;
    }
    let mut alike = vec![first];
    for suspect in suspects[1..].iter().take(5) {
        let other = &searched.tried[suspect.tried];
        let apart = |(run, own): (&std::sync::Arc<SeenRun>, &f64)| {
            (1.0 - ((log(run, other) - own) / temperature).exp()).max(0.0)
        };
        let variation = runs.iter().zip(&own).map(apart).sum::<f64>() / runs.len() as f64;
        if variation < ALIKE {
            alike.push(suspect.tried);
        }
    }
    Some(Posterior { suspects, none, fit, alike })
}

/// The chance of a value as low as this one where others are drawn so: Student's distribution about their
/// mean.
fn how_often(others: &[f64], here: f64) -> f64 {
    use statrs::distribution::{ContinuousCDF, StudentsT};
    let n = others.len() as f64;
    let mean = others.iter().sum::<f64>() / n;
    let variance = others.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let spread = (variance * (1.0 + 1.0 / n)).sqrt().max(1.0);
    StudentsT::new(0.0, 1.0, n - 1.0).map_or(1.0, |t| t.cdf((here - mean) / spread))
}

/// From this probability on a class is blamed; the module never below it.
pub const BLAMED_FROM: f64 = 0.95;
/// From this probability on anything but the module is, where the rules of thumb blame the module.
pub const SUSPECTED_FROM: f64 = 0.5;

/// Whose fault it is: the class that the suspects' probabilities add up to. Where none is sure enough, what the
/// rules of thumb say stands, unless that is the module.
pub fn blame(searched: &Searched, posterior: &Posterior, by_rules: Option<Blame>) -> Blame {
    let of = |class: Blame| -> f64 {
        let is = |suspect: &&Suspect| searched.tried[suspect.tried].cause.class() == class;
        posterior.suspects.iter().filter(is).map(|suspect| suspect.probability).sum()
    };
    decided(of, by_rules)
}

fn decided(of: impl Fn(Blame) -> f64, by_rules: Option<Blame>) -> Blame {
    let sure = Blame::CLASSES.into_iter().find(|&class| of(class) >= BLAMED_FROM);
    if let Some(class) = sure {
        return class;
    }
    let others = Blame::CLASSES.into_iter().filter(|&class| class != Blame::Module);
    let best = others.max_by(|a, b| of(*a).total_cmp(&of(*b)));
    match by_rules {
        Some(class) if class != Blame::Module => class,
        _ => best.filter(|&class| of(class) >= SUSPECTED_FROM).unwrap_or(Blame::Unsure),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_module_is_blamed_only_from_95_in_100_on() {
        use Blame::{Jig, Lead, Module, Setting, Unsure};
        let with = |module: f64, lead: f64, by_rules| {
            let of = |class| match class {
                Module => module,
                Lead => lead,
                _ => 0.0,
            };
            decided(of, Some(by_rules))
        };
        assert_eq!(with(0.96, 0.04, Lead), Module);
        assert_eq!(with(0.94, 0.06, Module), Unsure);
        assert_eq!(with(0.94, 0.06, Setting), Setting);
        assert_eq!(with(0.4, 0.6, Module), Lead);
        assert_eq!(with(0.02, 0.97, Jig), Lead);
    }

    /// `scipy.stats.t.cdf((3 - 10) / (numpy.std(x, ddof=1) * (1 + 1 / 5) ** 0.5), 4)` for x = 6, 8, 10, 12, 14,
    /// SciPy 1.17.1.
    #[test]
    fn how_often_is_the_tail_of_students_distribution() {
        let p = how_often(&[6.0, 8.0, 10.0, 12.0, 14.0], 3.0);
        assert!((p - STUDENT).abs() < 1e-9, "{p}");
    }

    const STUDENT: f64 = 0.056701957799909594;
}
