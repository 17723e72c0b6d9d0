//! How well a cause explains what a run showed.
//!
//! A run's readings are compared with what the cause does to them on simulated benches. What is measured is
//! compared as a whole, in units of the scatter of sound modules and with its covariance, so that twenty
//! readings of one contact are no twenty witnesses; with the tails of Student's distribution, so that one
//! reading that nobody expected does not decide. What was not seen, what was counted and where a run ended are
//! compared event by event: an event goes as with the fault, or as without, where the fault comes and goes.

use super::seen::{Event, Key, Seen, SeenRun, State};
use super::sound::Sound;
use crate::judge::quantity::Quantity;
use crate::judge::reading::Bound;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Degrees of freedom of Student's distribution.
const TAILS: f64 = 8.0;
/// Interpolated between two severities, a reading may be off by this share of what lies between them.
const BETWEEN: f64 = 0.2;
/// Modules differ in what the same fault does to them by this share of it.
const DIFFER: f64 = 0.03;
/// What moves less than so many standard deviations, with one draw, is taken for chance.
const CHANCE: f64 = 1.0;
/// Further than so many standard deviations off says no more.
const FAR: f64 = 15.0;
/// What an event costs that goes neither as with the fault nor as without.
const UNLIKE: f64 = 8.0;
/// What a reading costs that has a value where none is foretold, or none where one is.
const UNFORETOLD: f64 = 2.0;
/// What it costs that a run looked at something besides and found it otherwise.
const OTHER_HINT: f64 = 5.0;
/// What it costs that a run ended elsewhere.
const ENDED_ELSEWHERE: f64 = 20.0;
/// What it costs that it answered elsewhere: no address comes by chance.
const ANSWERED_ELSEWHERE: f64 = 40.0;
/// What it costs that something else was noted where it was asked whether it answers.
const OTHER_NOTE: f64 = 5.0;
/// What an event costs that goes as with the fault, but at another time.
const ANOTHER_TIME: f64 = 1.0;
/// What an event costs that goes as with the worst of a kind and not as just there.
const WORST: f64 = 0.3;
/// From so many standard deviations on, a reading moves much.
const MUCH: f64 = 10.0;
/// Less than this share of that is hardly any.
const LITTLE: f64 = 0.1;
/// Mismatches of one output come from one thing: so many of them weigh as this power of their number.
const TOGETHER: f64 = 0.7;
/// So many events without a fault count where it is always there.
const NEVER: f64 = 0.02;

/// What a cause does at a severity.
#[derive(Clone, Debug)]
pub struct Effect {
    /// By how much it moves each reading that has a value, in standard deviations of sound modules; `None`
    /// where it leaves no value. A list for each run.
    moved: Vec<Vec<Option<f64>>>,
    /// The runs that show it.
    pub runs: Vec<Arc<SeenRun>>,
    /// The share of events that it could spoil in which it does not show.
    spares: f64,
    /// What the worst of its kind does: so it goes, where it comes and goes.
    worst: Option<Arc<Effect>>,
    /// What events look like that it spoils, wherever in the script.
    spoiled: BTreeSet<Look>,
}

/// What an event looks like, whichever step it is in; its output, unless it could be any.
type Look = (Option<u8>, Vec<(u8, Quantity, Looks)>);

/// What is done and read in an event; its output, unless it could be any.
type Operation = (Option<u8>, Vec<(u8, Quantity)>);

/// A state, but for a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Looks {
    Value,
    Count(i64),
    Missing,
    More,
    Less,
}

fn look(output: Option<u8>, event: &[(Key, Seen)]) -> Look {
    let one = |(key, seen): &(Key, Seen)| {
        let looks = match seen.state {
            State::Value(_) => Looks::Value,
            State::Count(count) => Looks::Count(count),
            State::Missing => Looks::Missing,
            State::Beyond(Bound::MoreThan) => Looks::More,
            State::Beyond(Bound::LessThan) => Looks::Less,
        };
        (key.position, key.quantity, looks)
    };
    (output, event.iter().map(one).collect())
}

impl Effect {
    /// From runs on the first of the drawn benches, and what the worst of its kind does there.
    /// `roams` says whether it may show at any output.
    pub fn of(
        sound: &Sound,
        runs: Vec<Arc<SeenRun>>,
        worst: Option<Arc<Effect>>,
        roams: bool,
    ) -> Self {
        let one = |run: &SeenRun, healthy: &SeenRun, key: &Key, scatter: f64| {
            let moved = (run.value(key)? - healthy.value(key)?) / scatter;
            // What is taken for chance is none of its doing.
            let kept = if moved == 0.0 { 0.0 } else { (1.0 - (CHANCE / moved).powi(2)).max(0.0) };
            Some(moved * kept)
        };
        let moved = |(run, healthy): (&Arc<SeenRun>, &Arc<SeenRun>)| {
            let keys = sound.keys.iter().zip(&sound.scatter);
            keys.map(|(key, scatter)| one(run, healthy, key, *scatter)).collect()
        };
        let moved = runs.iter().zip(&sound.runs).map(moved).collect();
        let spoiled = BTreeSet::new();
        let mut effect = Effect { moved, runs, spares: NEVER, worst, spoiled };
        effect.spares = effect.spares(sound, roams);
        let worst = effect.worst.iter().flat_map(|worst| &worst.runs);
        for run in effect.runs.iter().chain(worst) {
            for (event, here) in run.events() {
                if !same(here, sound.runs[0].event(event)) {
                    effect.spoiled.insert(look(Some(event.output), here));
                    if roams {
                        effect.spoiled.insert(look(None, here));
                    }
                }
            }
        }
        effect
    }

    /// Nothing happens.
    pub fn none(sound: &Sound, draws: usize) -> Self {
        let runs = sound.runs.iter().take(draws).cloned().collect();
        let moved = vec![vec![Some(0.0); sound.keys.len()]; draws];
        Effect { moved, runs, spares: NEVER, worst: None, spoiled: BTreeSet::new() }
    }

    /// The share of events in which it does not show though it could: those that the worst spoils and that
    /// are as in a sound run, and readings that hardly move while others of their kind move much.
    fn spares(&self, sound: &Sound, roams: bool) -> f64 {
        let (mut spared, mut all) = (0.0, 0.0);
        if let Some(worst) = self.worst.as_ref().map(|worst| &worst.runs[0]) {
            for (event, spoiled) in worst.events() {
                if same(spoiled, sound.runs[0].event(event)) {
                    continue;
                }
                for (run, healthy) in self.runs.iter().zip(&sound.runs) {
                    let here = run.event(event);
                    all += 1.0;
                    spared += f64::from(same(here, healthy.event(event)) && !same(here, spoiled));
                }
            }
        }
        // Operations that are alike but for when they are made: with and without.
        let mut made: BTreeMap<Operation, (f64, f64)> = BTreeMap::new();
        for run in &self.runs {
            for (event, here) in run.events().filter(|(event, _)| event.output > 0) {
                let what = here.iter().map(|(key, _)| (key.position, key.quantity)).collect();
                let output = (!roams).then_some(event.output);
                let of = made.entry((output, what)).or_default();
                of.0 += 1.0;
                of.1 += f64::from(same(here, sound.runs[0].event(event)));
            }
        }
        for (of, healthy) in made.into_values().filter(|(of, healthy)| healthy < of) {
            all += of;
            spared += healthy;
        }
        let mut alike: BTreeMap<(u8, u8, Quantity), Vec<f64>> = BTreeMap::new();
        let moved = |run: &Vec<Option<f64>>| sound.keys.iter().zip(run.clone()).collect::<Vec<_>>();
        for (key, moved) in self.moved.iter().flat_map(moved) {
            let of = alike.entry((key.output, key.position, key.quantity)).or_default();
            of.extend(moved.map(f64::abs));
        }
        for moved in alike.values() {
            let most = moved.iter().copied().fold(0.0, f64::max);
            if most > MUCH {
                all += moved.len() as f64;
                spared += moved.iter().filter(|&&m| m < LITTLE * most).count() as f64;
            }
        }
        (spared + NEVER) / (all + 1.0)
    }
}

/// Whether two events went the same way, but for values.
pub fn same(one: &[(Key, Seen)], other: &[(Key, Seen)]) -> bool {
    one.len() == other.len()
        && one.iter().zip(other).all(|(a, b)| a.0 == b.0 && a.1.state.is_like(&b.1.state))
}

/// Whether somebody else was hinted at in an event.
fn hints_elsewhere(one: &[(Key, Seen)], other: &[(Key, Seen)]) -> bool {
    let differ = |a: &Seen, b: &Seen| a.hint.zip(b.hint).is_some_and(|(a, b)| a != b);
    one.iter().zip(other).any(|(a, b)| differ(&a.1, &b.1))
}

/// Between two severities.
#[derive(Clone, Copy, Debug)]
pub struct Between<'e> {
    /// The milder.
    pub mild: &'e Effect,
    /// The worse.
    pub worse: &'e Effect,
    /// How far on the way to the worse, 0 to 1.
    pub way: f64,
}

/// How an event went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Went {
    /// As with the fault, in one of its runs.
    Own(usize),
    /// As with the worst of its kind.
    Worst,
    /// As without.
    Sound,
}

impl<'e> Between<'e> {
    /// By how much a reading moves, and the variance of that.
    fn moved(&self, j: usize, went: Went) -> Option<(f64, f64)> {
        let differ = |moved: f64| (moved, (DIFFER * moved).powi(2));
        let run = match went {
            Went::Sound => return Some((0.0, 0.0)),
            Went::Worst => return self.worst()?.moved.first()?[j].map(differ),
            Went::Own(run) => run,
        };
        let of = |effect: &Effect| effect.moved[run.min(effect.moved.len() - 1)][j];
        match (of(self.mild), of(self.worse)) {
            (Some(mild), Some(worse)) => {
                let (moved, own) = differ(mild + self.way * (worse - mild));
                let off = BETWEEN * (worse - mild) * (4.0 * self.way * (1.0 - self.way)).sqrt();
                Some((moved, own + off * off))
            }
            (mild, worse) => mild.or(worse).map(differ),
        }
    }

    fn worst(&self) -> Option<&'e Effect> {
        self.worse.worst.as_deref()
    }

    /// The runs that show it, each with the number of its draw.
    fn runs(&self) -> impl Iterator<Item = (usize, &'e SeenRun)> + use<'e> {
        let worse = self.worse.runs.iter().take(if self.way > 0.0 { usize::MAX } else { 0 });
        let mild = self.mild.runs.iter().take(if self.way < 1.0 { usize::MAX } else { 0 });
        worse.enumerate().chain(mild.enumerate()).map(|(draw, run)| (draw, run.as_ref()))
    }

    /// Whether an event looks like one that it spoils at another time.
    fn has_spoiled(&self, event: Event, here: &[(Key, Seen)]) -> bool {
        let looks = [look(Some(event.output), here), look(None, here)];
        [self.mild, self.worse].iter().any(|at| looks.iter().any(|l| at.spoiled.contains(l)))
    }

    fn spares(&self) -> f64 {
        ((1.0 - self.way) * self.mild.spares + self.way * self.worse.spares).clamp(1e-3, 0.999)
    }
}

/// The logarithm of the likelihood of what was seen, but for a constant that is the same for all causes.
pub fn log_likelihood(sound: &Sound, seen: &SeenRun, cause: Between<'_>) -> f64 {
    let mut costs: BTreeMap<u8, (f64, f64)> = BTreeMap::new();
    let mut cost = |output: u8, nats: f64| {
        let of = costs.entry(output).or_default();
        of.0 += nats;
        of.1 += 1.0;
    };
    let mut went: BTreeMap<Event, Went> = BTreeMap::new();
    let (shows, spares) = (-(1.0 - cause.spares()).ln(), -cause.spares().ln());
    for (event, here) in seen.events() {
        let healthy = sound.runs[0].event(event);
        let as_sound = same(here, healthy);
        let own = cause.runs().map(|(draw, run)| (draw, run.event(event)));
        let own = own.into_iter().find(|(_, own)| same(own, here));
        let worst = cause.worst().map(|worst| worst.runs[0].event(event));
        let how = match (own, worst.filter(|worst| same(worst, here))) {
            (Some((draw, own)), _) if !as_sound => {
                if hints_elsewhere(here, own) {
                    cost(event.output, OTHER_HINT);
                }
                cost(event.output, shows);
                Went::Own(draw)
            }
            (Some((draw, _)), _) => {
                let [with, without] =
                    [Went::Own(draw), Went::Sound].map(|how| misfit(sound, here, &cause, how));
                if without + 2.0 * spares < with {
                    cost(event.output, spares);
                    Went::Sound
                } else {
                    Went::Own(draw)
                }
            }
            (None, Some(worst)) if !as_sound => {
                if hints_elsewhere(here, worst) {
                    cost(event.output, OTHER_HINT);
                }
                cost(event.output, shows + WORST);
                Went::Worst
            }
            _ if as_sound => {
                cost(event.output, spares);
                Went::Sound
            }
            _ if cause.has_spoiled(event, here) => {
                cost(event.output, shows + ANOTHER_TIME);
                Went::Sound
            }
            _ => {
                cost(event.output, UNLIKE);
                Went::Own(0)
            }
        };
        went.insert(event, how);
    }
    let whole = |is: &dyn Fn(&SeenRun) -> bool| cause.runs().any(|(_, run)| is(run));
    if !whole(&|run| run.whole.ended_in == seen.whole.ended_in) {
        cost(u8::MAX, ENDED_ELSEWHERE);
    }
    if !whole(&|run| run.whole.answers_at == seen.whole.answers_at) {
        cost(u8::MAX - 1, ANSWERED_ELSEWHERE);
    } else if !whole(&|run| run.whole.answer_note == seen.whole.answer_note) {
        cost(u8::MAX - 2, OTHER_NOTE);
    }
    let costs: f64 = costs.values().map(|(sum, n)| sum * n.powf(TOGETHER - 1.0)).sum();
    measured(sound, seen, &cause, &went) - costs
}

/// How far the values of an event are off, each by itself.
fn misfit(sound: &Sound, here: &[(Key, Seen)], cause: &Between<'_>, how: Went) -> f64 {
    let one = |(key, seen): &(Key, Seen)| {
        let j = sound.keys.binary_search(key).ok()?;
        let z = (seen.state.value()? - sound.mean[j]) / sound.scatter[j];
        let (moved, off) = cause.moved(j, how)?;
        Some(((z - moved).powi(2) / (1.0 + off)).min(FAR * FAR))
    };
    here.iter().filter_map(one).sum()
}

fn measured(
    sound: &Sound,
    seen: &SeenRun,
    cause: &Between<'_>,
    went: &BTreeMap<Event, Went>,
) -> f64 {
    let (mut which, mut off, mut away) = (Vec::new(), Vec::new(), Vec::new());
    let mut unforetold = 0.0;
    for (j, key) in sound.keys.iter().enumerate() {
        let how = went.get(&key.event()).copied().unwrap_or(Went::Own(0));
        match (seen.value(key), cause.moved(j, how)) {
            (Some(value), Some((moved, added))) => {
                let z = (value - sound.mean[j]) / sound.scatter[j] - moved;
                which.push(j);
                off.push(added);
                let far = FAR * (1.0 + added).sqrt();
                away.push(z.clamp(-far, far));
            }
            (Some(_), None) => unforetold += UNFORETOLD,
            (None, _) => {}
        }
    }
    let Some(factor) = sound.factor(&which, &off) else { return f64::NEG_INFINITY };
    let n = which.len() as f64;
    let squared = factor.distance_squared(&away);
    let tails = (TAILS + n) / 2.0 * (squared / TAILS).ln_1p();
    -tails - factor.half_log_determinant() - unforetold + constant(n)
}

/// What the density of so many readings has besides, as far as their number matters: so that a reading that
/// is left out weighs as one that is explained.
fn constant(n: f64) -> f64 {
    (TAILS + n) / 2.0 * (n / TAILS).ln_1p()
}
