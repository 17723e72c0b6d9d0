//! Carries a plan out and tells what happens as events.
//!
//! Leans on `script`, `link`, `measure` and `judge`; knows neither record nor report. There is one
//! file for each kind of action; `course` holds what they share.

pub mod abilities;
pub mod event;

mod by_hand;
mod course;
mod diagnose;
mod expected;
mod known;
mod lamp_step;
mod load_step;
mod measure_step;
mod operate;
mod operate_readings;
mod positions;
mod power;
mod probe;
mod samples;
mod seen;
mod trip;

use crate::link::client::Jig;
use crate::script::plan::{Action, Plan};
use core::time::Duration;
use course::{Course, Halt};
use event::{Ending, Event, Hand, JigIdentity, Listener, Outcome};
use std::sync::atomic::AtomicBool;

/// How a run is carried out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// Nobody is there: what the operator should do is done by the simulated bench alone. Refused
    /// on a real jig when the plan has steps by hand.
    pub unattended: bool,
}

/// Carries a plan out.
///
/// Whatever happens, the feed and the load supply are off when this returns, as far as the line
/// still carries; everything that was read has been told to the listeners by then.
pub fn carry_out(
    plan: &Plan,
    jig: &mut Jig,
    hand: &mut dyn Hand,
    options: &Options,
    stop: &AtomicBool,
    listeners: &mut [&mut dyn Listener],
) -> Outcome {
    let identity = JigIdentity {
        serial: jig.identity().serial.clone(),
        firmware: jig.identity().firmware.clone(),
        simulated: jig.identity().simulated,
    };
    let mut course = Course::new(plan, jig, hand, options.unattended, stop, listeners);
    let result = all_steps(&mut course, &identity);
    let safe = course.make_safe();
    let ending = match result.and(safe) {
        Ok(()) | Err(Halt::Enough) => Ending::Complete,
        Err(Halt::Stopped) => Ending::Stopped,
        Err(Halt::Trouble(sentence)) => Ending::BenchTrouble(sentence),
        Err(Halt::Tripped(_)) => {
            Ending::BenchTrouble("a supply of the jig trips again and again".into())
        }
    };
    let mut outcome = course.outcome(ending);
    if let Err(Halt::Trouble(sentence)) = course.emit(&Event::Ended(&outcome))
        && outcome.ending == Ending::Complete
    {
        outcome = course.outcome(Ending::BenchTrouble(sentence));
    }
    outcome
}

fn all_steps(course: &mut Course<'_, '_>, identity: &JigIdentity) -> Result<(), Halt> {
    course.refuse_missing_hands(identity)?;
    abilities::refuse_what_cannot_be_done(course)?;
    let plan = course.plan;
    let started = course.jig.time_of_day();
    course.emit(&Event::Began { plan, jig: identity, started })?;
    course.make_safe()?;
    course.begin_slot()?;
    let mut left = plan.duration();
    for (index, step) in plan.steps.iter().enumerate() {
        course.begin_step(index, left)?;
        match one_step(course, &step.action) {
            Err(Halt::Tripped(supply)) => trip::after(course, supply, &step.action)?,
            Err(Halt::Enough) => return course.end_step(index),
            result => result?,
        }
        course.end_step(index)?;
        left = left.saturating_sub(step.duration);
    }
    Ok(())
}

fn one_step(course: &mut Course<'_, '_>, action: &Action) -> Result<(), Halt> {
    match action {
        Action::Ask(task) => by_hand::ask(course, task),
        Action::HookUp => power::hook_up(course),
        Action::FeedOn { polarity, compare, window } => {
            power::feed_on(course, *polarity, *compare, *window)
        }
        Action::FeedOff => power::feed_off(course),
        Action::Loads { choice, clamps } => power::connect(course, *choice, clamps),
        Action::Wait => Ok(()),
        Action::Send { output, to } => operate::send(course, *output, *to),
        Action::Operate { output, to, by, window } => {
            operate::operate(course, &operate::Order { output: *output, to: *to, by: *by }, *window)
        }
        Action::Measure { what, window } => measure_step::measure(course, *what, *window),
        Action::WatchLamp => lamp_step::watch(course),
        Action::JudgeLamp => lamp_step::judge(course),
    }
}

/// Before a command: the load supply comes on and the pre-trigger fills.
const LEAD: Duration = Duration::from_millis(40);
