//! Something else moved than what was told to: which two are crossed?

use super::tell::close;
use crate::judge::blame::Crossed;
use crate::run::course::{Course, Halt};
use crate::run::see::operation::Seen;
use crate::run::see::positions::look;
use crate::run::steps::operate::Order;
use crate::run::steps::power::load_supply_on;
use crate::signal::target::Clamp;

/// Something else moved than what was told to: another output, or the same one the other way. Does
/// its contact input do the same?
pub fn find_crossing(course: &mut Course<'_, '_>, wanted: &Order, seen: &Seen) -> Result<(), Halt> {
    let at = usize::from(wanted.output) - 1;
    if course.known.moved_instead[at].is_some() || seen.tripped {
        return Ok(());
    }
    let others: Vec<u8> = seen.standing.moved().filter(|&o| o != wanted.output).collect();
    let went_back = seen.standing.before[at] == Some(wanted.to)
        && seen.standing.after[at] == Some(wanted.to.other());
    let other = match others[..] {
        [] if went_back => wanted.output,
        [other] if !went_back => other,
        _ => return Ok(()),
    };
    let Some(stands) = seen.standing.of(other) else {
        // Its own positions are both closed, or both open: one change-over cannot do that, so a
        // clamp of another output hangs on it.
        course.known.moved_instead[at] = Some((other, Crossed::Both));
        return Ok(());
    };
    if !load_supply_on(course)? {
        return Ok(());
    }
    // Swapped outputs: the contact for where the other one does not stand moves that one. Swapped
    // positions: the contact for where it stands already moves it away.
    let first = if other == wanted.output { stands } else { stands.other() };
    let mut before = look(course)?;
    let mut moves = Vec::new();
    for to in [first, first.other()] {
        close(course, Clamp { output: wanted.output, position: to })?;
        let after = look(course)?;
        moves.extend(
            course.outputs().filter(|&o| after[usize::from(o) - 1] != before[usize::from(o) - 1]),
        );
        before = after;
        if other == wanted.output {
            break;
        }
    }
    course.jig.send("OUTP2 OFF")?;
    let crossed =
        if moves.contains(&other) && (other == wanted.output || !moves.contains(&wanted.output)) {
            Crossed::Both
        } else {
            Crossed::CommandsOnly
        };
    course.known.moved_instead[at] = Some((other, crossed));
    Ok(())
}
