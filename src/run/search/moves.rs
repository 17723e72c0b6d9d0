//! Does a command move anything?

use super::tell::order;
use crate::run::ongoing::OngoingRun;
use crate::run::step_stop::StepStop;
use crate::signal::target::{Format, Position};

/// Whether a command to an output moves anything. What moved is sent back. The load supply is on.
pub fn moves_anything(
    run: &mut OngoingRun<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
) -> Result<bool, StepStop> {
    let before = run.look()?;
    // Where the output stands it need not move; so the other position first.
    let at = before[usize::from(output) - 1].unwrap_or(Position::A);
    let ways: &[Position] =
        if before[usize::from(output) - 1].is_some() { &[at.other()] } else { &[at.other(), at] };
    for &to in ways {
        order(run, first, format, output, to)?;
        let there = run.look()?;
        if there == before {
            continue;
        }
        // A module that only now has booted may move by itself: it must follow the way back too.
        order(run, first, format, output, to.other())?;
        let back = run.look()?;
        if back != there {
            return Ok(true);
        }
    }
    Ok(false)
}
