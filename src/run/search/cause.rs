//! Looks for the cause of what an operation shows, where something seems wrong.

use super::{bypass, contacts, crossing};
use crate::judge::blame::{AtClamp, ClampFacts, Crossed, Facts, PastModule};
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::judge::verdict::Side;
use crate::measure::change_over::ChangeOver;
use crate::quantity::unit::Units;
use crate::run::ongoing::OngoingRun;
use crate::run::order::Order;
use crate::run::see::operation::OperationCapture;
use crate::run::step_stop::StepStop;
use crate::script::plan::{By, LoadChoice};
use crate::signal::target::{Clamp, Position};

/// A coil's pulse is seen when it reaches this share of its lower limit.
const COIL_SHARE: f64 = 0.3;
/// What counts as a coil's pulse where the sheet has no lower limit, amperes.
const COIL_LEAST_A: f64 = 0.01;

/// Whether an operation stirred anything: its output, another one, or a coil.
pub fn stirs(
    run: &OngoingRun<'_, '_>,
    order: &Order,
    capture: &OperationCapture,
    change: Option<&ChangeOver>,
) -> bool {
    let others_moved = capture.standing.moved().any(|output| output != order.output);
    has_moved(change) || others_moved || coil(run, capture) == Some(true)
}

fn has_moved(change: Option<&ChangeOver>) -> bool {
    change.is_some_and(|c| c.closed.is_some())
}

/// Whether a coil's pulse was seen in the feed current, where it is recorded.
fn coil(run: &OngoingRun<'_, '_>, capture: &OperationCapture) -> Option<bool> {
    let limits = of_sheet(&run.plan.module, Quantity::CoilCurrent);
    let least_a = limits.lower.map_or(COIL_LEAST_A, |l| COIL_SHARE * l);
    capture.coil().map(|p| p.height.value - p.height.expanded() > least_a)
}

/// Gathers what is known about an operation; looks where something seems wrong.
pub fn facts(
    run: &mut OngoingRun<'_, '_>,
    order: &Order,
    capture: &OperationCapture,
    change: Option<&ChangeOver>,
) -> Result<Facts, StepStop> {
    let new = order.new_clamp();
    let moved = has_moved(change);
    let coil = coil(run, capture);
    if order.by == By::Command && !moved {
        crossing::find_crossing(run, order, capture)?;
    }
    if order.by == By::Contact && !moved && !run.state.tried_contacts && !capture.tripped {
        contacts::try_contacts(run, order)?;
    }
    if order.by != By::CommandAgainstContact && needs_look(run, new, capture) {
        bypass::look_past_module(run, new, capture.without_current.map(|z| z.supply - z.clamp))?;
    }
    let crossed = run.state.moved_instead[usize::from(order.output) - 1]
        .map_or(Crossed::No, |(_, crossed)| crossed);
    let clamp = ClampFacts {
        jig_load: run.state.loads == LoadChoice::Jig,
        past_module: run.state.past_module[new.index()],
        at_clamp: capture.at_clamp(new),
        coil_pulse: coil,
        moved: change.map(|_| moved),
        common_off: is_dead(run, order.output, capture),
        crossed,
    };
    Ok(Facts::from(run.state.facts).at(clamp).losing_loads(capture.tripped))
}

/// Whether neither position of an output carried current, before or after, though both have loads:
/// its common is off.
fn is_dead(run: &OngoingRun<'_, '_>, output: u8, capture: &OperationCapture) -> bool {
    let at = usize::from(output) - 1;
    let both = [Position::A, Position::B].map(|position| Clamp { output, position });
    !capture.tripped
        && capture.supply.is_some()
        && capture.standing.before[at].is_none()
        && capture.standing.after[at].is_none()
        && both.iter().all(|&c| run.state.is_loaded(c) && !run.state.has_carried[c.index()])
        && both.iter().all(|&c| capture.at_clamp(c) == AtClamp::Absent)
}

/// Whether a load reading looks wrong enough to look past the module.
fn needs_look(run: &OngoingRun<'_, '_>, clamp: Clamp, capture: &OperationCapture) -> bool {
    if run.state.past_module[clamp.index()] != PastModule::Unknown
        || !run.tells_by_current(clamp)
        || capture.tripped
    {
        return false;
    }
    let Some(supply) = capture.supply else { return false };
    let (Some(current), Some(expected)) =
        (capture.settled_current(clamp), run.expected(clamp, supply))
    else {
        return false;
    };
    // A clamp well below the supply: the drop may lie in the lead or in the contact.
    let dropped = capture.at_clamp(clamp) != AtClamp::Full
        || capture.voltage_share(clamp).is_some_and(|share| {
            let upper = run.plan.module.contact_resistance.upper.map_or(0.0, Units::si);
            (1.0 - share) * supply.value > upper * current.value.max(0.05)
        });
    if dropped {
        return true;
    }
    let guard = expected.compared(current).expanded();
    expected.window.side(Some(current.value - guard)) != Side::Inside
        || expected.window.side(Some(current.value + guard)) != Side::Inside
}
