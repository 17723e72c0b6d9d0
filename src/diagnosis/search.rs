//! The search for what explains a run: all causes at few severities first, then the best of them closer.

use super::bench::{Asked, Benches};
use super::cause::{Cause, Severities};
use super::likelihood::{Between, Effect, log_likelihood, same};
use super::odds::Odds;
use super::places::{Deviating, looked_for};
use super::seen::{Event, Key, Seen, SeenRun};
use super::sound::Sound;
use crate::finds::spread::on_all_processors;
use crate::simulated_bench::Placed;
use crate::simulated_bench::faults::catalogue;
use core::sync::atomic::AtomicBool;
use std::collections::BTreeMap;
use std::sync::Arc;

/// So many sound modules tell how they scatter.
pub const SOUND: usize = 60;
/// So many of the best causes are looked at closer, each time.
const CLOSER: usize = 8;
/// So often.
const LOOKS: usize = 6;
/// So many of the best are tried on a second bench.
const SECOND: usize = 5;
/// A cause is left aside that is so much less likely than the best, in nats, but for how severe it is.
const HOPELESS: f64 = 60.0;

/// A cause that was tried.
#[derive(Clone, Debug)]
pub struct Tried {
    /// The cause.
    pub cause: Cause,
    /// Its chance beforehand, for all severities together.
    pub prior: f64,
    /// Its severities.
    pub severities: Severities,
    /// What it does at those that were tried.
    pub effects: BTreeMap<usize, Effect>,
    /// The logarithm of its likelihood by severity, and how many severities each stands for.
    pub fits: Vec<Fit>,
}

/// How well a severity explains what was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Which severity.
    pub at: usize,
    /// The logarithm of its likelihood.
    pub log: f64,
    /// For how many severities it stands.
    pub width: f64,
}

impl Tried {
    fn new(cause: Cause, prior: f64, severities: Severities) -> Self {
        Tried { cause, prior, severities, effects: BTreeMap::new(), fits: Vec::new() }
    }

    /// The best severity, and the logarithm of its likelihood.
    pub fn best(&self) -> Fit {
        let worst = Fit { at: 0, log: f64::NEG_INFINITY, width: 1.0 };
        self.fits.iter().copied().fold(worst, |a, b| if b.log > a.log { b } else { a })
    }

    /// The logarithm of its likelihood, all severities alike beforehand.
    pub fn log_marginal(&self) -> f64 {
        let best = self.best().log;
        let sum: f64 = self.fits.iter().map(|fit| fit.width * (fit.log - best).exp()).sum();
        best + (sum / self.fits.iter().map(|fit| fit.width).sum::<f64>()).ln()
    }

    /// The likeliest severity, and where it lies with 95 in 100.
    pub fn severity(&self, temperature: f64) -> [f64; 3] {
        let best = self.best();
        let weight = |fit: &Fit| fit.width * ((fit.log - best.log) / temperature).exp();
        let all: f64 = self.fits.iter().map(weight).sum();
        let (mut below, mut from, mut to) = (0.0, None, None);
        for fit in &self.fits {
            below += weight(fit) / all;
            from = from.or(Some(fit.at).filter(|_| below >= 0.025));
            to = to.or(Some(fit.at).filter(|_| below >= 0.975));
        }
        // Half a step to either side is no less likely than the step itself.
        let of = |at: Option<usize>, beside: isize| {
            let at = at.unwrap_or(best.at);
            let last = self.severities.all.len() as isize - 1;
            let next = (at as isize + beside).clamp(0, last.max(0)) as usize;
            let (here, next) = (self.severities.all[at], self.severities.all[next]);
            if self.is_counted() { here } else { here.signum() * (here * next).sqrt() }
        };
        let (from, to) = (of(from, -1), of(to, 1));
        [self.severities.all[best.at], from.min(to), from.max(to)]
    }

    /// Compares it with what was seen, at what was tried and between.
    fn compared(&self, sound: &Sound, seen: &SeenRun) -> Vec<Fit> {
        let mut fits = Vec::new();
        if self.cause.fault.is_none() || self.severities.all.len() == 1 || self.is_counted() {
            for (&at, effect) in &self.effects {
                let between = Between { mild: effect, worse: effect, way: 1.0 };
                fits.push(Fit { at, log: log_likelihood(sound, seen, between), width: 1.0 });
            }
            return fits;
        }
        let none = Effect::none(sound, 1);
        let zero = (0usize, 0.0, &none);
        let tried = self.effects.iter().map(|(&at, effect)| (at, self.severities.all[at], effect));
        let mut before = zero;
        for now in tried {
            let steps = now.0 - before.0.min(now.0);
            for at in between(before.0, now.0) {
                let severity = self.severities.all[at];
                let way = ((severity - before.1) / (now.1 - before.1)).clamp(0.0, 1.0);
                let way = if at == now.0 { 1.0 } else { way };
                let cause = Between { mild: before.2, worse: now.2, way };
                let width = (steps.max(1) as f64) / (between(before.0, now.0).len() as f64);
                fits.push(Fit { at, log: log_likelihood(sound, seen, cause), width });
            }
            before = now;
        }
        fits
    }

    fn is_counted(&self) -> bool {
        self.severities.all.windows(2).all(|w| (w[1] - w[0]).abs() >= 0.999)
            && self.severities.all.iter().all(|s| s.fract() == 0.0)
    }
}

/// The severities between two that are tried: all when they are few, else three; the last always.
fn between(from: usize, to: usize) -> Vec<usize> {
    let steps = to.saturating_sub(from);
    if steps <= 3 {
        return if steps == 0 { vec![to] } else { (from + 1..=to).collect() };
    }
    (1..=4).map(|i| from + (steps * i).div_ceil(4)).collect()
}

/// Who is told how far it is.
pub type Told<'t> = &'t mut dyn FnMut(usize);

/// All causes that were tried.
#[derive(Clone, Debug)]
pub struct Searched {
    /// How sound modules scatter.
    pub sound: Arc<Sound>,
    /// The causes.
    pub tried: Vec<Tried>,
}

/// Runs sound modules.
pub fn sound(benches: &mut Benches<'_>, stop: &AtomicBool, told: Told<'_>) -> Option<Arc<Sound>> {
    let asked = |draw| Asked { wrong: Cause::SOUND.at(0.0), draw };
    let all: Vec<Asked> = (0..SOUND).map(asked).collect();
    Some(Arc::new(Sound::of(benches.run(&all, stop, told)?)))
}

/// Tries all single causes.
pub fn singles(
    benches: &mut Benches<'_>,
    odds: &Odds,
    seen: &SeenRun,
    stop: &AtomicBool,
    told: Told<'_>,
) -> Option<Searched> {
    let sound = sound(benches, stop, told)?;
    let deviating = Deviating::of(&sound, seen);
    let one = Severities { all: vec![1.0], first: vec![0] };
    let mut tried = vec![Tried::new(Cause::SOUND, odds.sound, one.clone())];
    for (at, kind) in benches.kinds().iter().enumerate() {
        tried.push(Tried::new(Cause::kind(at), odds.of_kind(&kind.kind), one.clone()));
    }
    for fault in catalogue() {
        for (sought, severities, chance) in looked_for(benches.plan(), fault, &deviating, seen) {
            tried.push(Tried::new(Cause::of(sought), chance * odds.of(fault), severities));
        }
    }
    let mut searched = Searched { sound, tried };
    let first: Vec<(usize, usize)> = searched
        .tried
        .iter()
        .enumerate()
        // The worst comes first: what comes and goes is compared with it.
        .flat_map(|(which, tried)| tried.severities.first.iter().rev().map(move |&at| (which, at)))
        .collect();
    // What sits at one output may show otherwise where the output stood the other way to begin with.
    let (whole, placed): (Vec<_>, Vec<_>) =
        first.into_iter().partition(|&(which, _)| searched.tried[which].cause.roams());
    searched.add(benches, &whole, 1, seen, stop, told)?;
    let draws = if searched.spoils_outputs(seen) { 2 } else { 1 };
    searched.add(benches, &placed, draws, seen, stop, told)?;
    for _ in 0..LOOKS {
        let next = searched.closer();
        searched.add(benches, &next, draws, seen, stop, told)?;
    }
    searched.second(benches, seen, stop, told)?;
    Some(searched)
}

impl Searched {
    /// Runs causes at severities, on the first so many of the benches, and compares them anew.
    fn add(
        &mut self,
        benches: &mut Benches<'_>,
        which: &[(usize, usize)],
        draws: usize,
        seen: &SeenRun,
        stop: &AtomicBool,
        told: Told<'_>,
    ) -> Option<()> {
        let asked: Vec<Asked> = which
            .iter()
            .flat_map(|&(which, at)| {
                let tried = &self.tried[which];
                let wrong = tried.cause.at(tried.severities.all[at]);
                (0..draws).map(move |draw| Asked { wrong: wrong.clone(), draw })
            })
            .collect();
        let runs = benches.run(&asked, stop, told)?;
        for (&(which, at), runs) in which.iter().zip(runs.chunks(draws)) {
            let tried = &mut self.tried[which];
            let worst = tried.severities.all.len() - 1;
            let worst = match (at == worst, tried.effects.get(&worst)) {
                (true, _) | (_, None) => None,
                (false, Some(effect)) => Some(Arc::new(effect.clone())),
            };
            let effect = Effect::of(&self.sound, runs.to_vec(), worst, tried.cause.roams());
            tried.effects.insert(at, effect);
        }
        let mut changed: Vec<usize> = which.iter().map(|&(which, _)| which).collect();
        changed.dedup();
        let fits = |i: usize| self.tried[changed[i]].compared(&self.sound, seen);
        let fits = on_all_processors(changed.len(), stop, fits, |_| ())?;
        for (which, fits) in changed.into_iter().zip(fits) {
            self.tried[which].fits = fits;
        }
        Some(())
    }

    /// Whether anything at an output went otherwise than in a sound run, but for its values.
    fn spoils_outputs(&self, seen: &SeenRun) -> bool {
        let otherwise = |(event, here): (Event, &[(Key, Seen)])| {
            event.output > 0 && !same(here, self.sound.runs[0].event(event))
        };
        seen.events().any(otherwise)
    }

    /// The causes, the likeliest first, by the best of their severities.
    pub fn ranked(&self) -> Vec<usize> {
        let mut ranked: Vec<usize> = (0..self.tried.len()).collect();
        let score = |at: usize| self.tried[at].best().log + self.tried[at].prior.max(1e-12).ln();
        ranked.sort_by(|&a, &b| score(b).total_cmp(&score(a)));
        ranked
    }

    /// Which severities of the best causes to try next.
    fn closer(&self) -> Vec<(usize, usize)> {
        let ranked = self.ranked();
        let best = ranked.first().map_or(0.0, |&at| self.tried[at].best().log);
        let next = |which: usize| {
            let tried = &self.tried[which];
            let fit = tried.best();
            if fit.log < best - HOPELESS {
                return None;
            }
            if !tried.effects.contains_key(&fit.at) {
                return Some((which, fit.at));
            }
            // The best is tried: halfway to its neighbours, the better side first.
            let below = tried.effects.range(..fit.at).next_back().map_or(0, |(&at, _)| at);
            let above = tried.effects.range(fit.at + 1..).next().map_or(fit.at, |(&at, _)| at);
            let log =
                |at: usize| tried.fits.iter().find(|f| f.at == at).map_or(f64::MIN, |f| f.log);
            let mut sides = [(below, log(below)), (above, log(above))];
            sides.sort_by(|a, b| b.1.total_cmp(&a.1));
            let middles = sides.map(|(side, _)| (side + fit.at) / 2);
            let fresh = |at: &usize| !tried.effects.contains_key(at) && *at > 0;
            middles.into_iter().find(fresh).map(|at| (which, at))
        };
        ranked.into_iter().filter_map(next).take(CLOSER).collect()
    }

    /// Tries the best severities of the best causes on a second and a third bench.
    fn second(
        &mut self,
        benches: &mut Benches<'_>,
        seen: &SeenRun,
        stop: &AtomicBool,
        told: Told<'_>,
    ) -> Option<()> {
        let next: Vec<(usize, usize)> = self
            .ranked()
            .into_iter()
            .take(SECOND)
            .flat_map(|which| {
                let tried = &self.tried[which];
                let best = tried.best().at;
                let near = |at: &&usize| at.abs_diff(best) <= 5;
                let mut near: Vec<usize> = tried.effects.keys().filter(near).copied().collect();
                near.sort_by_key(|at| at.abs_diff(best));
                near.into_iter().take(2).map(move |at| (which, at)).collect::<Vec<_>>()
            })
            .collect();
        self.add(benches, &next, 3, seen, stop, told)
    }

    /// Tries the best causes two at a time.
    pub fn pairs(
        &mut self,
        benches: &mut Benches<'_>,
        odds: &Odds,
        seen: &SeenRun,
        stop: &AtomicBool,
        told: Told<'_>,
    ) -> Option<()> {
        let singles: Vec<usize> =
            self.ranked().into_iter().filter(|&at| self.tried[at].cause.fault.is_some()).collect();
        let mut pairs = Vec::new();
        for (first, second) in [(0, 1), (0, 2), (0, 3), (0, 4), (0, 5), (0, 6), (1, 2), (1, 3)] {
            let Some((&one, &other)) = singles.get(first).zip(singles.get(second)) else {
                continue;
            };
            let (one, other) = (&self.tried[one], &self.tried[other]);
            let (Some(a), Some(b)) = (&one.cause.fault, &other.cause.fault) else { continue };
            if a.fault == b.fault && a.place == b.place {
                continue;
            }
            let severity = one.severities.all[one.best().at];
            let besides = Placed { fault: a.fault, place: a.place.clone(), severity };
            let cause = Cause { besides: Some(besides), fault: Some(b.clone()), ..Cause::SOUND };
            let at = other.best().at;
            pairs.push((
                cause,
                one.prior * other.prior * odds.second,
                other.severities.clone(),
                at,
            ));
        }
        let from = self.tried.len();
        let mut next = Vec::new();
        for (i, (cause, prior, severities, at)) in pairs.into_iter().enumerate() {
            self.tried.push(Tried::new(cause, prior, severities));
            next.push((from + i, at));
        }
        self.add(benches, &next, 1, seen, stop, told)?;
        Some(())
    }
}
