//! Tells a module to move, by command or by contact, and waits until a sound one has.

use crate::link::client::micros;
use crate::procedure::commands::command;
use crate::run::ongoing::OngoingRun;
use crate::run::step_stop::StepStop;
use crate::signal::target::{Clamp, Format, Position};

/// Sends a command and waits until a sound module would have carried it out.
pub fn order(
    run: &mut OngoingRun<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
    to: Position,
) -> Result<(), StepStop> {
    let sheet = &run.plan.module;
    run.state.last_told = Some((first, format));
    let telegram = command(sheet, first, format, output, to)?;
    let asked_us = run.bench.clock_us()?;
    let moved_us = run.bench.command(sheet, &telegram)?;
    run.state.suspect(asked_us, moved_us);
    Ok(run.bench.wait_until(moved_us)?)
}

/// Closes a contact input for the sheet's time and waits until a sound output would have moved.
pub fn close(run: &mut OngoingRun<'_, '_>, clamp: Clamp) -> Result<(), StepStop> {
    let asked_us = run.bench.clock_us()?;
    let rest = run.bench.touch(&run.plan.module, clamp)?;
    let now_us = run.bench.clock_us()?;
    run.state.suspect(asked_us, now_us + micros(rest));
    Ok(run.bench.pause(rest)?)
}
