//! A contact input does nothing: does any?

use super::tell::close;
use crate::run::course::Course;
use crate::run::order::Order;
use crate::run::step_stop::StepStop;
use crate::signal::target::Clamp;

/// A contact input does nothing: does any other one?
pub fn try_contacts(course: &mut Course<'_, '_>, wanted: &Order) -> Result<(), StepStop> {
    course.state.tried_contacts = true;
    if !course.load_supply_on()? {
        return Ok(());
    }
    let mut tried = 0;
    let mut works = false;
    for output in course.outputs().filter(|&o| o != wanted.output) {
        let before = course.look()?;
        let at = usize::from(output) - 1;
        let Some(stands) = before[at] else { continue };
        close(course, Clamp { output, position: stands.other() })?;
        tried += 1;
        if course.look()? != before {
            close(course, Clamp { output, position: stands })?;
            course.look()?;
            works = true;
            break;
        }
    }
    course.state.facts.contacts_dead = tried > 0 && !works;
    Ok(course.bench.load_supply_off()?)
}
