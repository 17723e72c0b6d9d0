//! Finds out which addresses and which format a module answers to, without trusting its switches.
//!
//! Leans on `script`, `link`, `judge` (for the word of the verdict alone) and `signal`. What is asked
//! and in which order is a [`plan`], whose [`bound`] is known before anything is sent. The sweep
//! has many commands in flight: a coil that pulls shows in the feed current ([`coil_pulses`]), and
//! when the commands had gone out ([`timing`]) says which of them it can have answered to; those
//! are narrowed down, and what is found is proved output by output. What comes out is a
//! [`answer::RollCall`].

pub mod answer;
pub mod bound;
pub mod candidates;
pub mod coil_pulses;
pub mod plan;
pub mod readings;
pub mod stage;
pub mod target;
pub mod times;
pub mod timing;

mod call_stop;
mod caller;
mod kinds;
mod narrow;
mod others;
mod positions;
mod power;
mod prove;
mod silence;
mod sweep;

mod watch;

use crate::link::client::Jig;
use crate::procedure::error::{BenchError, STILL_ON};
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::Polarity;
use crate::signal::target::Format;
use crate::wire::channel::FEED_CURRENT;
use answer::{RollCall, Short, Silence};
use bound::{Effort, bound, first_bound};
use call_stop::CallStop;
use caller::Caller;
use candidates::{Candidate, Why};
use core::time::Duration;
use others::Others;
use plan::{Pass, Plan};
pub use stage::Stage;
use std::sync::atomic::AtomicBool;
use sweep::Found;
use target::Target;

/// Modules that the bound is reckoned for when all are looked for.
const MODULES: u64 = 8;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The kind of module.
    pub sheet: &'a ModuleSheet,
    /// Where its output 1 should answer.
    pub address: u16,
    /// In which format.
    pub format: Format,
    /// The formats that are asked.
    pub formats: Vec<Format>,
    /// Go on after the first module.
    pub all: bool,
    /// Measure the hook-up before power; not where that was done already.
    pub hook_up: bool,
    /// Whether somebody wants it to answer at that address; else it is only where it is tried first.
    pub wanted: bool,
    /// Whether somebody said of which kind it is.
    pub kind_given: bool,
    /// Other kinds that it may be of.
    pub kinds: &'a [ModuleSheet],
}

impl<'a> Question<'a> {
    /// The sheet of the kind that a roll-call found: see [`RollCall::kind`].
    pub fn sheet_of(&self, roll: &RollCall) -> &'a ModuleSheet {
        roll.kind.and_then(|at| self.kinds.get(at)).unwrap_or(self.sheet)
    }

    /// The kind that was asked for, then the others.
    fn all_kinds(&self) -> impl Iterator<Item = &'a ModuleSheet> {
        core::iter::once(self.sheet).chain(self.kinds)
    }

    /// The plan for another kind: at the same address where it can have that, else at its sheet's.
    fn plan_for(&self, kind: &ModuleSheet) -> Option<Plan> {
        let formats: Vec<Format> = kind.switches.formats();
        let asked: Vec<Format> = formats.into_iter().filter(|f| self.is_asked_in(*f)).collect();
        let format = *asked.first()?;
        let own = || Some((self.address, Target::of(format, kind.numbering, self.address)?));
        let usual = || {
            let target = Target::of(format, kind.numbering, kind.try_address)?;
            Some((kind.try_address, target))
        };
        let (address, expected) = own().or_else(usual)?;
        let mut plan = Plan::new(kind, address, expected, &asked);
        plan.likely.splice(0..0, self.as_drawn(kind).filter(|c| asked.contains(&c.first.format)));
        Some(plan)
    }

    /// Where another kind answers whose switches somebody has set as this question's kind wants them.
    fn as_drawn(&self, kind: &ModuleSheet) -> Option<Candidate> {
        let set = self.sheet.switches.switches_for(self.address, self.format)?;
        let set = set & ((1 << kind.switches.weights.len()) - 1);
        let address = u16::try_from(kind.switches.address_of(set)).ok()?;
        let first = Target::of(kind.switches.format_of(set), kind.numbering, address)?;
        Some(Candidate { first, why: Why::AsAnother })
    }

    /// Whether a format is asked at all: where the question leaves out one that its own kind
    /// understands, it is meant to be left out.
    fn is_asked_in(&self, format: Format) -> bool {
        self.formats.contains(&format) || !self.sheet.switches.formats().contains(&format)
    }
}

/// A roll-call that came to no end.
#[derive(Debug, thiserror::Error)]
pub enum RollCallError {
    /// Somebody wants to stop.
    #[error("the roll-call was stopped; the feed is off")]
    Stopped,
    /// The jig or the line.
    #[error("{0}")]
    Bench(String),
    /// Nothing can be called there.
    #[error("{0}")]
    BadQuestion(String),
}

/// Calls the roll. `tell` hears how far it is. The jig has tested itself and taken its zeros before.
///
/// Whatever happens, the feed and the load supply are off when this returns, as far as the line
/// still carries.
///
/// # Errors
/// When the question makes no sense, somebody wants to stop, or the jig or the line fails.
pub fn call_the_roll(
    jig: &mut Jig,
    question: &Question<'_>,
    stop: &AtomicBool,
    tell: &mut dyn FnMut(&Stage<'_>),
) -> Result<RollCall, RollCallError> {
    let Question { sheet, address, format, .. } = *question;
    let expected = Target::of(format, sheet.numbering, address).ok_or_else(|| {
        let highest = crate::signal::address::highest(format, sheet.numbering);
        RollCallError::BadQuestion(format!(
            "{format} has no address {address} of its own: they go from 1 to {highest}"
        ))
    })?;
    if jig.channel(FEED_CURRENT).is_none() {
        return Err(RollCallError::Bench("this jig cannot measure the feed current".into()));
    }
    let plan = Plan::new(sheet, address, expected, &question.formats);
    let others: Vec<Option<Plan>> =
        question.kinds.iter().map(|kind| question.plan_for(kind)).collect();
    let bound = others
        .iter()
        .flatten()
        .fold(bound(&plan, if question.all { MODULES } else { 1 }), |sum, other| {
            sum.and(first_bound(other))
        });
    let (serial, simulated) = (jig.identity().serial.clone(), jig.identity().simulated);
    let mut roll = RollCall {
        jig: serial,
        simulated,
        expected,
        wanted: question.wanted,
        kind: None,
        fits: Vec::new(),
        outputs: sheet.outputs,
        formats: plan.formats.clone(),
        both_polarities: plan.both_polarities,
        likely: plan.likely.clone(),
        copies: plan.copies,
        modules: Vec::new(),
        silence: None,
        stopped_at_first: false,
        restless: false,
        until_found: None,
        effort: Effort::default(),
        bound,
        took: Duration::ZERO,
        likely_took: None,
    };
    let mut caller = Caller::new(jig, sheet, &plan, bound, stop, tell);
    let mut found = Found { modules: Vec::new(), all: question.all, inverted: false, effort: None };
    let began = caller.bench.clock_us();
    let result = all_rounds(&mut caller, &mut found, &mut roll, question, &others);
    let safe = caller.bench.make_safe();
    roll.effort = caller.effort;
    roll.until_found = found.effort;
    if let (Ok(began_us), Ok(ended_us)) = (began, caller.bench.clock_us()) {
        roll.took = Duration::from_micros(ended_us.saturating_sub(began_us));
    }
    roll.restless = caller.alarms_left == 0;
    roll.stopped_at_first = found.is_enough();
    roll.modules = found.modules;
    match result {
        Err(CallStop::FeedTripped) => {
            roll.silence = Some(Silence::Shorted { what: Short::Tripped, ohm: None });
        }
        result => ending(result, safe.as_ref().err())?,
    }
    safe.map_err(|error| RollCallError::Bench(still_on("", &error)))?;
    Ok(roll)
}

/// How it ends by what happened, and by why the jig could not be made safe, if it could not.
fn ending(result: Result<(), CallStop>, still: Option<&BenchError>) -> Result<(), RollCallError> {
    let sentence = match result {
        Ok(()) | Err(CallStop::FeedTripped) => return Ok(()),
        Err(CallStop::Stopped) if still.is_none() => return Err(RollCallError::Stopped),
        Err(CallStop::Stopped) => "the roll-call was stopped; ".to_owned(),
        Err(CallStop::Trouble(sentence)) => sentence,
        Err(CallStop::Bench(error)) => error.to_string(),
    };
    Err(RollCallError::Bench(match still {
        None => sentence,
        Some(why) if sentence.ends_with("; ") => still_on(&sentence, why),
        Some(_) => still_on("", &sentence),
    }))
}

/// What to say when the jig could not be told to turn everything off.
fn still_on(first: &str, why: &dyn core::fmt::Display) -> String {
    format!("{first}{why}; {STILL_ON}")
}

/// The likely places and every address, in one polarity and then the other; then once more with more
/// copies.
fn all_rounds(
    caller: &mut Caller<'_>,
    found: &mut Found,
    roll: &mut RollCall,
    question: &Question<'_>,
    others: &[Option<Plan>],
) -> Result<(), CallStop> {
    let plan = caller.plan;
    caller.bench.make_safe()?;
    if question.hook_up {
        roll.silence = caller.check_hook_up()?;
        if roll.silence.is_some() {
            return Ok(());
        }
    }
    let mut hears_broadcast = false;
    let polarities = [Polarity::Normal, Polarity::Inverted];
    let rounds = if plan.both_polarities { 2 } else { 1 };
    for &polarity in &polarities[..rounds] {
        found.inverted = polarity == Polarity::Inverted;
        if found.inverted {
            caller.feed_off()?;
        }
        roll.silence = caller.power_up(polarity)?;
        if roll.silence.is_some() {
            return Ok(());
        }
        let likely_us = caller.bench.clock_us()?;
        caller.try_likely(found)?;
        if !found.inverted && found.modules.is_empty() {
            let now_us = caller.bench.clock_us()?;
            roll.likely_took = Some(Duration::from_micros(now_us.saturating_sub(likely_us)));
        }
        let others = Others { question, plans: others };
        if found.modules.is_empty() && !found.inverted {
            others.try_likely(caller, found, roll)?;
        }
        sweep_first(caller, plan.first_passes(), found)?;
        if found.modules.is_empty() && !found.inverted {
            others.sweep(caller, found, roll)?;
        }
        if !found.is_enough() {
            caller.sweep_passes(plan.other_passes(), found)?;
        }
        if !found.modules.is_empty() {
            break;
        }
        hears_broadcast |= caller.hears_broadcast()?;
    }
    if !found.is_enough() && !hears_broadcast {
        if found.inverted && found.modules.is_empty() {
            caller.feed_off()?;
            found.inverted = false;
            roll.silence = caller.power_up(Polarity::Normal)?;
            if roll.silence.is_some() {
                return Ok(());
            }
        }
        caller.sweep_passes(plan.last_passes(), found)?;
    }
    if found.modules.is_empty() {
        roll.silence = Some(caller.why_silent(hears_broadcast)?);
    } else if !question.kinds.is_empty() && roll.kind.is_none() {
        let module = found.modules[0].clone();
        let evidence = caller.evidence(&module, question)?;
        roll.fits = evidence.fitting(question);
        let own_fits = question.kind_given && evidence.may_be(question.sheet);
        if !own_fits && !roll.fits.contains(&question.sheet.kind) {
            let is_first = |kind: &ModuleSheet| Some(&kind.kind) == roll.fits.first();
            roll.kind = question.kinds.iter().position(is_first);
        }
        roll.outputs = question.sheet_of(roll).outputs;
    }
    Ok(())
}

/// The first sweep of a power-up, unless the likely places were enough.
fn sweep_first(
    caller: &mut Caller<'_>,
    passes: impl Iterator<Item = Pass>,
    found: &mut Found,
) -> Result<(), CallStop> {
    if found.is_enough() {
        return Ok(());
    }
    caller.listen()?;
    caller.sweep_passes(passes, found)
}
