//! What the operator does by hand.

use crate::run::course::{Course, Halt};
use crate::run::event::{Event, Hand};
use crate::script::plan::{BankSetting, HandTask};

/// Asks, and waits until it is done. A simulated bench has no hands near it: it is told to do the
/// task itself.
pub fn ask(course: &mut Course<'_, '_>, task: &HandTask) -> Result<(), Halt> {
    course.emit(&Event::Asked(task))?;
    course.known.break_watch(course.began_us);
    if !course.unattended && !keeping_alive(course, |hand, alive| hand.act(task, alive))? {
        return Err(Halt::Stopped);
    }
    if course.jig.identity().simulated {
        simulate(course, task)?;
    }
    if let HandTask::Prepare { bank, .. } | HandTask::Switches(bank) = task {
        course.known.switches_are_set(*bank);
    }
    // What people do takes no script time; the next slot begins when they are done.
    course.begin_slot()?;
    let now_us = course.began_us;
    course.known.break_watch(now_us);
    course.check_stop()
}

/// Lets the operator do something, and keeps the jig from falling silent meanwhile.
pub fn keeping_alive<T>(
    course: &mut Course<'_, '_>,
    what: impl FnOnce(&mut dyn Hand, &mut dyn FnMut() -> bool) -> T,
) -> Result<T, Halt> {
    let mut trouble = None;
    let jig = &mut *course.jig;
    let mut keep_alive = || {
        if trouble.is_none() {
            trouble = jig.clock_us().err();
        }
        trouble.is_none()
    };
    let done = what(course.hand, &mut keep_alive);
    match trouble {
        Some(error) => Err(error.into()),
        None => Ok(done),
    }
}

fn simulate(course: &mut Course<'_, '_>, task: &HandTask) -> Result<(), Halt> {
    let slider = |on: bool| format!("DIAG:HAND:AUX {}", u8::from(on));
    let set = |bank: &BankSetting| format!("DIAG:HAND:SWIT {}", bank.switches);
    let units = match task {
        HandTask::Prepare { bank, auxiliary } => {
            let mut units = set(bank);
            if let Some(on) = auxiliary {
                units.push_str(";:");
                units.push_str(&slider(*on));
            }
            units
        }
        HandTask::Switches(bank) => set(bank),
        HandTask::Auxiliary(on) => slider(*on),
        HandTask::Other(_) => return Ok(()),
    };
    Ok(course.jig.send(&units)?)
}
