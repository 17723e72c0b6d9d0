//! What the operator does by hand.

use super::carried_out::{CarriedOut, Lost};
use crate::procedure::orders;
use crate::run::course::Course;
use crate::run::event::Event;
use crate::run::step_stop::StepStop;
use crate::script::plan::HandTask;

impl CarriedOut for HandTask {
    fn carry_out(&self, course: &mut Course<'_, '_>) -> Result<(), StepStop> {
        ask(course, self)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

/// Asks, and waits until it is done. A simulated bench has no hands near it: it is told to do the
/// task itself.
pub fn ask(course: &mut Course<'_, '_>, task: &HandTask) -> Result<(), StepStop> {
    course.emit(&Event::Asked(task))?;
    course.state.break_watch(course.began_us);
    if !course.unattended {
        let hand = &mut *course.hand;
        if !course.bench.keeping_alive(|alive| hand.act(task, alive))? {
            return Err(StepStop::Stopped);
        }
    }
    if course.bench.jig.identity().simulated {
        simulate(course, task)?;
    }
    if let HandTask::Prepare { bank, .. } | HandTask::Switches(bank) = task {
        course.state.switches_are_set(*bank);
    }
    // What people do takes no script time; the next slot begins when they are done.
    course.begin_slot()?;
    let now_us = course.began_us;
    course.state.break_watch(now_us);
    Ok(course.bench.check_stop()?)
}

fn simulate(course: &mut Course<'_, '_>, task: &HandTask) -> Result<(), StepStop> {
    let (bank, slider) = match task {
        HandTask::Prepare { bank, auxiliary } => (Some(bank), *auxiliary),
        HandTask::Switches(bank) => (Some(bank), None),
        HandTask::Auxiliary(on) => (None, Some(*on)),
        HandTask::Other(_) => return Ok(()),
    };
    let set = bank.map(|bank| orders::simulated_switches(bank.switches));
    Ok(course.bench.send(&(set, slider.map(orders::simulated_slider)))?)
}
