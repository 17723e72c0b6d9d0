//! Looks for the cause of what an operation shows, where something seems wrong.

use super::{bypass, contacts, crossing, elsewhere};
use crate::judge::blame::{Answers, AtClamp, Crossed, Facts};
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::measure::change_over::ChangeOver;
use crate::run::course::{Course, Halt};
use crate::run::see::operation::{Seen, at_clamp, needs_look};
use crate::run::steps::operate::Order;
use crate::script::plan::{By, LoadChoice};
use crate::signal::target::{Clamp, Position};

/// A coil's pulse is seen when it reaches this share of its lower limit.
const COIL_SHARE: f64 = 0.3;
/// What counts as a coil's pulse where the sheet has no lower limit, amperes.
const COIL_LEAST_A: f64 = 0.01;

/// Gathers what is known about an operation; looks where something seems wrong.
pub fn facts(
    course: &mut Course<'_, '_>,
    order: &Order,
    seen: &Seen,
    change: Option<&ChangeOver>,
) -> Result<Facts, Halt> {
    let new = order.new_clamp();
    let moved = change.is_some_and(|c| c.closed.is_some());
    let coil_limits = of_sheet(&course.plan.module, Quantity::CoilCurrent);
    let coil_least = coil_limits.lower.map_or(COIL_LEAST_A, |l| COIL_SHARE * l);
    let coil = seen.coil().map(|p| p.height.value - p.height.expanded() > coil_least);
    let others_moved = seen.standing.moved().any(|output| output != order.output);

    if order.by == By::Command {
        if moved || coil == Some(true) || others_moved {
            if course.known.facts.answers != Answers::Elsewhere {
                course.known.facts.answers = Answers::Here;
            }
        } else if !seen.tripped {
            elsewhere::find_answer_once(course, order)?;
        }
        if !moved {
            crossing::find_crossing(course, order, seen)?;
        }
    }
    if order.by == By::Contact && !moved && !course.known.tried_contacts && !seen.tripped {
        contacts::try_contacts(course, order)?;
    }
    if order.by != By::CommandAgainstContact && needs_look(course, new, seen) {
        bypass::look_past_module(course, new, seen.zero.map(|z| z.supply - z.clamp))?;
    }
    let crossed = course.known.moved_instead[usize::from(order.output) - 1]
        .map_or(Crossed::No, |(_, crossed)| crossed);
    Ok(Facts {
        jig_loads: course.known.loads == LoadChoice::Jig,
        past_module: course.known.past_module[new.index()],
        at_clamp: at_clamp(seen, new),
        coil_pulse: coil,
        moved: change.map(|_| moved),
        all_dead: is_dead(course, order.output, seen),
        crossed,
        tripped: seen.tripped,
        ..course.known.facts
    })
}

/// Whether neither position of an output carried current, before or after, though both have loads:
/// its common is off.
fn is_dead(course: &Course<'_, '_>, output: u8, seen: &Seen) -> bool {
    let at = usize::from(output) - 1;
    let both = [Position::A, Position::B].map(|position| Clamp { output, position });
    !seen.tripped
        && seen.supply.is_some()
        && seen.standing.before[at].is_none()
        && seen.standing.after[at].is_none()
        && both.iter().all(|&c| course.known.is_loaded(c) && !course.known.has_carried[c.index()])
        && both.iter().all(|&c| at_clamp(seen, c) == AtClamp::Absent)
}
