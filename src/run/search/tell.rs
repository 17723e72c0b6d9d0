//! Tells a module to move, by command or by contact, and waits until a sound one has.

use crate::link::client::micros;
use crate::quantity::unit::duration;
use crate::run::course::{Course, Halt};
use crate::run::steps::operate::{command_at, longest_move};
use crate::signal::target::{Clamp, Format, Position};
use crate::wire::channel::CONTACT_CLOSER;
use core::time::Duration;

/// What the jig may hold back before a command goes out.
const QUEUED: Duration = Duration::from_millis(15);

/// Sends a command and waits until a sound module would have carried it out.
pub fn order(
    course: &mut Course<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
    to: Position,
) -> Result<(), Halt> {
    let telegram = command_at(course, first, format, output, to)?;
    let repeat = course.plan.module.repeat;
    let asked_us = course.jig.clock_us()?;
    course.jig.command(&telegram, repeat)?;
    let sent_us = course.jig.clock_us()?;
    let until_us = sent_us
        + u64::from(telegram.sending_us(repeat))
        + micros(QUEUED)
        + micros(longest_move(course));
    course.known.suspect(asked_us, until_us);
    course.wait_until(until_us)
}

/// Closes a contact input for the sheet's time and waits until a sound output would have moved.
pub fn close(course: &mut Course<'_, '_>, clamp: Clamp) -> Result<(), Halt> {
    let closure = duration(course.plan.module.contact_closure);
    let asked_us = course.jig.clock_us()?;
    course.jig.close_contact(clamp.channel(CONTACT_CLOSER), closure)?;
    let rest = closure.max(longest_move(course)) + QUEUED;
    let now_us = course.jig.clock_us()?;
    course.known.suspect(asked_us, now_us + micros(rest));
    course.pause(rest)
}
