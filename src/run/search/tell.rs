//! Tells a module to move, by command or by contact, and waits until a sound one has.

use crate::link::client::micros;
use crate::procedure::commands::command;
use crate::run::course::Course;
use crate::run::step_stop::StepStop;
use crate::signal::target::{Clamp, Format, Position};

/// Sends a command and waits until a sound module would have carried it out.
pub fn order(
    course: &mut Course<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
    to: Position,
) -> Result<(), StepStop> {
    let sheet = &course.plan.module;
    let telegram = command(sheet, first, format, output, to)?;
    let asked_us = course.bench.clock_us()?;
    let moved_us = course.bench.command(sheet, &telegram)?;
    course.state.suspect(asked_us, moved_us);
    Ok(course.bench.wait_until(moved_us)?)
}

/// Closes a contact input for the sheet's time and waits until a sound output would have moved.
pub fn close(course: &mut Course<'_, '_>, clamp: Clamp) -> Result<(), StepStop> {
    let asked_us = course.bench.clock_us()?;
    let rest = course.bench.touch(&course.plan.module, clamp)?;
    let now_us = course.bench.clock_us()?;
    course.state.suspect(asked_us, now_us + micros(rest));
    Ok(course.bench.pause(rest)?)
}
