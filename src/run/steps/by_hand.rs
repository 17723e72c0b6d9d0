//! What the operator does by hand.

use super::carried_out::{CarriedOut, Lost};
use crate::procedure::orders;
use crate::run::event::Event;
use crate::run::ongoing::OngoingRun;
use crate::run::step_stop::StepStop;
use crate::script::plan::HandTask;

impl CarriedOut for HandTask {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        ask(run, self)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

/// Asks, and waits until it is done. A simulated bench has no hands near it: it is told to do the
/// task itself.
pub fn ask(run: &mut OngoingRun<'_, '_>, task: &HandTask) -> Result<(), StepStop> {
    run.emit(&Event::Asked(task))?;
    run.state.break_watch(run.began_us);
    if !run.unattended {
        let hand = &mut *run.hand;
        if !run.bench.keeping_alive(|alive| hand.act(task, alive))? {
            return Err(StepStop::Stopped);
        }
    }
    if run.bench.jig.identity().simulated {
        simulate(run, task)?;
    }
    if let HandTask::Prepare { bank: Some(bank), .. } | HandTask::Switches(bank) = task {
        run.state.switches_are_set(*bank);
    }
    // What people do takes no script time; the next slot begins when they are done.
    run.begin_slot()?;
    let now_us = run.began_us;
    run.state.break_watch(now_us);
    Ok(run.bench.check_stop()?)
}

fn simulate(run: &mut OngoingRun<'_, '_>, task: &HandTask) -> Result<(), StepStop> {
    let (bank, slider) = match task {
        HandTask::Prepare { bank, auxiliary } => (bank.as_ref(), *auxiliary),
        HandTask::Switches(bank) => (Some(bank), None),
        HandTask::Auxiliary(on) => (None, Some(*on)),
        HandTask::Other(_) => return Ok(()),
    };
    let set = bank.map(|bank| orders::simulated_switches(bank.switches));
    Ok(run.bench.send(&(set, slider.map(orders::simulated_slider)))?)
}
