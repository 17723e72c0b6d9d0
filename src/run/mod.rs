//! Carries a plan out and tells what happens as events.
//!
//! Leans on `script`, `procedure`, `measure`, `calibration` and `judge`; knows neither record nor
//! report. From the bottom up:
//!
//! | file | holds |
//! | --- | --- |
//! | `see` | a capture in, what it shows out: pure |
//! | `judging` | a reading: its window, its verdict, what stands behind it: pure |
//! | `ongoing`, `state` | the run while it goes on, and what it has learned |
//! | `deviation` | a module that answers elsewhere, setting by setting: what explains it all at once |
//! | `loads`, `positions`, `expected` | what hangs on the module, where its outputs stand, what must flow |
//! | `rests`, `again` | loads that rest because the line is slow, and a step taken again |
//! | [`settle`] | waiting for those who listen, with the feed off |
//! | `search` | looks for the cause of what does not pass: acts |
//! | `steps` | a file for each action of a script |
//! | [`unattended`] | nobody at the bench, and its readings |
//! | [`event`], [`outcome`], [`suspects`], [`rules`] | what is told, how it ended, whose fault it is |

pub mod abilities;
pub mod event;
pub mod options;
pub mod outcome;
pub mod rules;
pub mod settle;
pub mod suspects;
pub mod unattended;

mod again;
mod deviation;
mod expected;
mod judging;
mod loads;
mod ongoing;
mod order;
mod positions;
mod rests;
mod search;
mod see;
mod state;
mod step_stop;
mod steps;

use crate::link::client::Jig;
use crate::procedure::error::STILL_ON;
use crate::script::plan::Plan;
use event::{CalibrationUsed, Diagnosis, Event, Hand, JigIdentity, Listener};
use ongoing::{Company, OngoingRun};
pub use options::Options;
use outcome::{Ending, Outcome};
pub use rules::Rules;
use std::sync::atomic::AtomicBool;
use step_stop::StepStop;
use steps::trip;

/// Carries a plan out.
///
/// Whatever happens, the feed and the load supply are off when this returns, as far as the line
/// still carries; everything that was read has been told to the listeners by then.
pub fn carry_out(
    plan: &Plan,
    jig: &mut Jig,
    hand: &mut dyn Hand,
    diagnosis: &mut dyn Diagnosis,
    options: &Options,
    stop: &AtomicBool,
    listeners: &mut [&mut dyn Listener],
) -> Outcome {
    let identity = JigIdentity {
        serial: jig.identity().serial.clone(),
        firmware: jig.identity().firmware.clone(),
        simulated: jig.identity().simulated,
        calibration: options.corrections.as_ref().map(|c| CalibrationUsed {
            name: c.name.clone(),
            days: c.days,
            too_old: c.days > plan.calibration_max_days,
        }),
    };
    let company = Company { hand, diagnosis, listeners };
    let mut run = OngoingRun::new(plan, jig, company, options, stop);
    let result = all_steps(&mut run, &identity);
    let safe = run.bench.make_safe().map_err(StepStop::from);
    let ending = ending(result, safe);
    let mut outcome = run.outcome(ending);
    let told = run.emit(&Event::Ended(&outcome));
    let mut ending = run.wait().at_end(outcome.ending.clone());
    if let (Ending::Complete | Ending::EndedEarly(_), Err(StepStop::Trouble(sentence))) =
        (&ending, told)
    {
        ending = Ending::BenchTrouble(sentence);
    }
    if ending != outcome.ending {
        outcome = run.outcome(ending);
    }
    outcome
}

/// How a run ends by how its steps did, and by whether the jig could be made safe afterwards.
fn ending(steps: Result<(), StepStop>, safe: Result<(), StepStop>) -> Ending {
    let steps = match steps {
        Ok(()) => Ending::Complete,
        Err(StepStop::Enough(why)) => Ending::EndedEarly(why),
        Err(StepStop::Stopped) => Ending::Stopped,
        Err(stop) => Ending::BenchTrouble(stop.sentence()),
    };
    let Err(unsafe_still) = safe else { return steps };
    let (first, why) = match steps {
        Ending::Complete | Ending::EndedEarly(_) => (String::new(), unsafe_still.sentence()),
        Ending::Stopped => ("the run was stopped; ".into(), unsafe_still.sentence()),
        // Most often it is the same trouble: it need not be told twice.
        Ending::BenchTrouble(first) | Ending::Unrecorded(first) => (String::new(), first),
    };
    Ending::BenchTrouble(format!("{first}{why}; {STILL_ON}"))
}

/// Why a run ends whose feed does not stay on.
const FEED_TRIPS: &str =
    "the feed trips: there is a short or an overload at the module or its leads";

fn all_steps(run: &mut OngoingRun<'_, '_>, identity: &JigIdentity) -> Result<(), StepStop> {
    run.refuse_missing_hands(identity)?;
    run.refuse_simulated_limits(identity)?;
    abilities::refuse_what_cannot_be_done(run)?;
    let plan = run.plan;
    let started = run.bench.jig.time_of_day();
    run.bench.make_safe()?;
    let self_test = run.bench.self_test()?;
    run.emit(&Event::Began { plan, jig: identity, self_test: &self_test, started })?;
    for sentence in abilities::small_loads(run) {
        run.emit(&Event::SmallLoads(&sentence))?;
    }
    run.wait().before()?;
    run.begin_run()?;
    // What was on before the run nobody knows.
    run.state.loads_off_since_us = run.began_us;
    let mut left = plan.duration();
    for (index, step) in plan.steps.iter().enumerate() {
        run.rest_before_step()?;
        run.begin_step(index, left)?;
        let objections = run.objections();
        match again::carry_out(run, &step.action) {
            Err(StepStop::Tripped(supply)) => trip::after(run, supply, &step.action)?,
            Err(StepStop::Enough(why)) => {
                run.end_step(index)?;
                return Err(StepStop::Enough(why));
            }
            result => result?,
        }
        if run.objections() > objections {
            search::seat::still_there(run)?;
        }
        run.end_step(index)?;
        if run.state.feed == state::Feed::Tripped {
            trip::tell(run)?;
            return Err(StepStop::Enough(FEED_TRIPS.into()));
        }
        left = left.saturating_sub(step.duration);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trouble(sentence: &str) -> Result<(), StepStop> {
        Err(StepStop::Trouble(sentence.into()))
    }

    fn enough() -> Result<(), StepStop> {
        Err(StepStop::Enough("a short".into()))
    }

    #[test]
    fn a_feed_that_cannot_be_turned_off_is_always_told() {
        let lost = "the port is gone";
        for steps in [Ok(()), enough(), Err(StepStop::Stopped), trouble("no answer")] {
            let Ending::BenchTrouble(sentence) = ending(steps.clone(), trouble(lost)) else {
                panic!("{steps:?}")
            };
            assert!(sentence.contains("could not be turned off"), "{sentence}");
            match steps {
                Err(StepStop::Trouble(first)) => {
                    assert!(sentence.starts_with(&first), "{sentence}")
                }
                _ => assert!(sentence.contains(lost), "{sentence}"),
            }
        }
    }

    #[test]
    fn a_safe_jig_leaves_the_ending_as_it_is() {
        assert_eq!(ending(Ok(()), Ok(())), Ending::Complete);
        assert_eq!(ending(enough(), Ok(())), Ending::EndedEarly("a short".into()));
        assert_eq!(ending(Err(StepStop::Stopped), Ok(())), Ending::Stopped);
        assert_eq!(ending(trouble("x"), Ok(())), Ending::BenchTrouble("x".into()));
    }
}
