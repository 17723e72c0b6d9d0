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
pub mod stage;
pub mod target;
pub mod timing;

mod call_stop;
mod caller;
mod narrow;
mod positions;
mod power;
mod prove;
mod silence;
mod sweep;
mod watch;

use crate::link::client::Jig;
use crate::procedure::error::BenchError;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::Polarity;
use crate::signal::target::Format;
use crate::wire::channel::FEED_CURRENT;
use answer::{RollCall, Short, Silence};
use bound::{Effort, bound};
use call_stop::CallStop;
use caller::Caller;
use core::time::Duration;
use plan::Plan;
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

/// Calls the roll. `tell` hears how far it is.
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
    let bound = bound(&plan, if question.all { MODULES } else { 1 });
    let (serial, simulated) = (jig.identity().serial.clone(), jig.identity().simulated);
    let mut roll = RollCall {
        jig: serial,
        simulated,
        expected,
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
    let mut caller = Caller::new(jig, sheet, &plan, bound.most, stop, tell);
    let mut found = Found { modules: Vec::new(), all: question.all, inverted: false, effort: None };
    let sound = caller.bench.make_safe().and_then(|()| caller.bench.self_test());
    ending(sound.map(|_| ()).map_err(CallStop::from), None)?;
    let began = caller.bench.clock_us();
    let result = all_rounds(&mut caller, &mut found, &mut roll);
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
    format!(
        "{first}{why}; the feed and the loads could not be turned off from here: the jig does it \
         by itself when it has heard nothing for its silence limit (5 s unless set otherwise); \
         look that they are off before you touch the module"
    )
}

/// The likely places and every address, in one polarity and then the other; then once more with more
/// copies.
fn all_rounds(
    caller: &mut Caller<'_>,
    found: &mut Found,
    roll: &mut RollCall,
) -> Result<(), CallStop> {
    let plan = caller.plan;
    caller.bench.make_safe()?;
    roll.silence = caller.check_hook_up()?;
    if roll.silence.is_some() {
        return Ok(());
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
        if !found.is_enough() {
            caller.listen()?;
            caller.sweep_passes(plan.passes(), found)?;
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
    }
    Ok(())
}
