//! Something else moved than what was told to: which two are crossed?

use super::tell::close;
use crate::judge::blame::Crossed;
use crate::run::ongoing::OngoingRun;
use crate::run::order::Order;
use crate::run::see::operation::OperationCapture;
use crate::run::step_stop::StepStop;
use crate::signal::target::Clamp;

/// Something else moved than what was told to: another output, or the same one the other way. Does
/// its contact input do the same?
pub fn find_crossing(
    run: &mut OngoingRun<'_, '_>,
    wanted: &Order,
    capture: &OperationCapture,
) -> Result<(), StepStop> {
    let at = usize::from(wanted.output) - 1;
    if run.state.moved_instead[at].is_some() || capture.tripped {
        return Ok(());
    }
    let others: Vec<u8> = capture.standing.moved().filter(|&o| o != wanted.output).collect();
    let went_back = capture.standing.before[at] == Some(wanted.to)
        && capture.standing.after[at] == Some(wanted.to.other());
    let other = match others[..] {
        [] if went_back => wanted.output,
        [other] if !went_back => other,
        _ => return Ok(()),
    };
    let Some(stands) = capture.standing.of(other) else {
        // Its own positions are both closed, or both open: one change-over cannot do that, so a
        // clamp of another output hangs on it.
        run.state.moved_instead[at] = Some((other, Crossed::Both));
        return Ok(());
    };
    if !run.load_supply_on()? {
        return Ok(());
    }
    // Swapped outputs: the contact for where the other one does not stand moves that one. Swapped
    // positions: the contact for where it stands already moves it away.
    let first = if other == wanted.output { stands } else { stands.other() };
    let mut before = run.look()?;
    let mut moves = Vec::new();
    for to in [first, first.other()] {
        close(run, Clamp { output: wanted.output, position: to })?;
        let after = run.look()?;
        moves.extend(
            run.outputs().filter(|&o| after[usize::from(o) - 1] != before[usize::from(o) - 1]),
        );
        before = after;
        if other == wanted.output {
            break;
        }
    }
    run.bench.load_supply_off()?;
    let crossed =
        if moves.contains(&other) && (other == wanted.output || !moves.contains(&wanted.output)) {
            Crossed::Both
        } else {
            Crossed::CommandsOnly
        };
    run.state.moved_instead[at] = Some((other, crossed));
    Ok(())
}
