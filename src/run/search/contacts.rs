//! A contact input does nothing: does any?

use super::tell::close;
use crate::run::course::{Course, Halt};
use crate::run::see::positions::look;
use crate::run::steps::operate::Order;
use crate::run::steps::power::load_supply_on;
use crate::signal::target::Clamp;

/// A contact input does nothing: does any other one?
pub fn try_contacts(course: &mut Course<'_, '_>, wanted: &Order) -> Result<(), Halt> {
    course.known.tried_contacts = true;
    if !load_supply_on(course)? {
        return Ok(());
    }
    let mut tried = 0;
    let mut works = false;
    for output in course.outputs().filter(|&o| o != wanted.output) {
        let before = look(course)?;
        let at = usize::from(output) - 1;
        let Some(stands) = before[at] else { continue };
        close(course, Clamp { output, position: stands.other() })?;
        tried += 1;
        if look(course)? != before {
            close(course, Clamp { output, position: stands })?;
            look(course)?;
            works = true;
            break;
        }
    }
    course.known.facts.contacts_dead = tried > 0 && !works;
    Ok(course.jig.send("OUTP2 OFF")?)
}
