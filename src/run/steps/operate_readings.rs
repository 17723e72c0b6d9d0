//! What is read out of the capture of an operation.

use crate::judge::blame::{AtClamp, Facts};
use crate::judge::expect::{of_sheet, open_current};
use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::measure::change_over::{ChangeOver, Contact, change_over};
use crate::measure::contact::{Around, Classes, resistance};
use crate::measure::mean::Mean;
use crate::measure::uncertainty::Estimate;
use crate::run::course::{Course, Halt, Taken};
use crate::run::judging::untrusted::Doubt;
use crate::run::search::cause;
use crate::run::see::current_rise::{self, closing};
use crate::run::see::operation::{Seen, at_clamp};
use crate::run::steps::operate::Order;
use crate::run::steps::power::{count, outputs_note};
use crate::script::plan::{By, LoadChoice};
use crate::signal::target::{Clamp, Position};
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE, FEED_CURRENT, LOAD_VOLTAGE};

/// Share of the supply that a clamp's voltage must reach to count as closed where no current tells.
const CLOSED_VOLTAGE: f64 = 0.3;

/// Readings of an operation that could not be carried out.
pub fn none(course: &mut Course<'_, '_>, order: &Order, why: &str) -> Result<(), Halt> {
    let facts = Facts { tripped: true, ..course.known.facts };
    for quantity in quantities(order.by) {
        let window = of_sheet(&course.plan.module, *quantity);
        let taken =
            Taken::new(*quantity, None, window).at(order.new_clamp()).knowing(facts).noting(why);
        course.read(taken)?;
    }
    Ok(())
}

/// The reading of an output that was sent somewhere and did not go there.
pub fn missed(
    course: &mut Course<'_, '_>,
    order: &Order,
    stands: Option<Position>,
) -> Result<(), Halt> {
    let facts = Facts { moved: Some(false), ..course.known.facts };
    let taken =
        Taken::new(Quantity::WrongPositions, Some(count(1)), Window::at_most(0.0)).knowing(facts);
    course.read(taken.at(order.new_clamp()).noting(standing_note(stands)))?;
    Ok(())
}

fn standing_note(stands: Option<Position>) -> String {
    match stands {
        Some(at) => format!("stands at {at}"),
        None => "stands at neither position, or at both".into(),
    }
}

fn quantities(by: By) -> &'static [Quantity] {
    match by {
        By::Command => &[
            Quantity::WrongPositions,
            Quantity::UnwantedMoves,
            Quantity::ResponseTime,
            Quantity::Gap,
            Quantity::BounceTime,
            Quantity::LoadCurrent,
            Quantity::OpenCurrent,
            Quantity::ContactResistance,
            Quantity::CoilCurrent,
        ],
        By::Contact => &[
            Quantity::WrongPositions,
            Quantity::UnwantedMoves,
            Quantity::ContactResponseTime,
            Quantity::Gap,
            Quantity::BounceTime,
            Quantity::LoadCurrent,
            Quantity::OpenCurrent,
            Quantity::ContactResistance,
            Quantity::CoilCurrent,
        ],
        By::CommandAgainstContact => &[Quantity::WrongPositions, Quantity::UnwantedMoves],
    }
}

/// Reads and judges.
pub fn read(course: &mut Course<'_, '_>, order: &Order, mut seen: Seen) -> Result<(), Halt> {
    let settled = seen.settled();
    seen.supply = course.supply_in(&seen.record, settled.start);
    if let Some(supply) = seen.supply {
        seen.standing = course.stand(&seen.record, seen.start, supply);
    }
    let change = change(course, order, &seen);
    let facts = cause::facts(course, order, &seen, change.as_ref())?;
    let (new, old) = (order.new_clamp(), order.old_clamp());
    let why = match &change {
        Some(change) if change.closed.is_some() => "",
        change => why_missing(order, &seen, change.as_ref()),
    };

    positions(course, order, &seen, change.as_ref(), facts)?;
    if order.by == By::CommandAgainstContact {
        return Ok(());
    }
    let closing = change.and_then(|c| c.closed).and_then(|_| closing(course, new, &seen));
    let unsure = closing.and_then(|c| c.err()).and_then(current_rise::doubt);
    let response = match order.by {
        By::Contact => Quantity::ContactResponseTime,
        _ => Quantity::ResponseTime,
    };
    let times = [
        (response, change.and_then(|c| c.response_after(seen.moment_us))),
        (Quantity::Gap, change.and_then(|c| c.gap())),
        (Quantity::BounceTime, change.and_then(|c| c.bounce())),
    ];
    for (quantity, estimate) in times {
        let window = of_sheet(&course.plan.module, quantity);
        let how = closing.and_then(Result::ok).filter(|_| quantity == response);
        let how =
            how.map(|t| current_rise::in_words(&t, seen.record.interval_us)).unwrap_or_default();
        let note = if estimate.is_none() {
            why_missing(order, &seen, change.as_ref())
        } else if quantity == Quantity::Gap && estimate.is_some_and(|e| e.value < 0.0) {
            "both positions are closed for a while"
        } else {
            &how
        };
        let doubt = estimate.and(unsure);
        let taken = Taken::new(quantity, estimate, window).at(new).knowing(facts).noting(note);
        course.read(taken.doubting(doubt))?;
    }
    load_current(course, new, &seen, facts, unsure)?;
    old_current(course, old, &seen, facts)?;
    contact_resistance(course, new, &seen, facts, why)?;
    let window = of_sheet(&course.plan.module, Quantity::CoilCurrent);
    let coil = seen.coil().map(|p| p.height);
    let after = seen.start..seen.settled().end;
    let doubt = course.doubt(&seen.record, FEED_CURRENT, &[], after);
    let taken = Taken::new(Quantity::CoilCurrent, coil, window).at(new).knowing(facts);
    course.read(taken.doubting(doubt))?;
    Ok(())
}

/// The change-over by the currents, by the voltages where there is no current to see.
fn change(course: &Course<'_, '_>, order: &Order, seen: &Seen) -> Option<ChangeOver> {
    let supply = seen.supply?;
    let contact = |clamp: Clamp, by_voltage: bool| {
        if by_voltage || !course.known.is_loaded(clamp) {
            let trace = seen.record.trace(clamp.channel(CLAMP_VOLTAGE))?;
            Some(Contact { trace, least: CLOSED_VOLTAGE * supply.value })
        } else {
            let trace = seen.record.trace(clamp.channel(CLAMP_CURRENT))?;
            Some(Contact { trace, least: course.least_closed(clamp, supply) })
        }
    };
    let of = |old_by_voltage, new_by_voltage| {
        let old = contact(order.old_clamp(), old_by_voltage)?;
        let new = contact(order.new_clamp(), new_by_voltage)?;
        Some(change_over(&seen.record, &old, &new, seen.start))
    };
    let by_current = of(false, false);
    let (old, new) = by_current.map_or((true, true), |c| {
        // No current where there is voltage: the load is missing, not the contact.
        (!c.old_was_closed, !c.new_was_closed && c.closed.is_none())
    });
    if old || new { of(old, new).or(by_current) } else { by_current }
}

fn why_missing(order: &Order, seen: &Seen, change: Option<&ChangeOver>) -> &'static str {
    let Some(change) = change else {
        return "nothing can be seen at this output: no load supply or no channel";
    };
    if seen.tripped {
        "the load supply has tripped"
    } else if change.new_was_closed {
        "was there already"
    } else if change.closed.is_none() && change.opened.is_some() {
        "opened the old position but did not close the new one"
    } else if change.closed.is_none() {
        match order.by {
            By::Contact => "did not move by its contact input",
            _ => "did not move",
        }
    } else {
        "the old position was not closed before or did not open"
    }
}

/// Where the outputs stand, and what else moved.
fn positions(
    course: &mut Course<'_, '_>,
    order: &Order,
    seen: &Seen,
    change: Option<&ChangeOver>,
    facts: Facts,
) -> Result<(), Halt> {
    let new = order.new_clamp();
    let wanted = Some(new.position);
    // It was there already, and nothing hangs on it: settled voltages tell.
    let stayed = course.is_bare(order.output)
        && at_clamp(seen, new) == AtClamp::Full
        && at_clamp(seen, order.old_clamp()) == AtClamp::Absent;
    let by_voltage = stayed || change.is_some_and(|c| c.closed.is_some() && c.opened.is_some());
    let is_there = seen.standing.of(order.output) == wanted || by_voltage;
    let value = seen.supply.map(|_| count(usize::from(!is_there)));
    let note = if is_there { String::new() } else { standing_note(seen.standing.of(order.output)) };
    let at_most = Window::at_most(0.0);
    course.read(
        Taken::new(Quantity::WrongPositions, value, at_most).at(new).knowing(facts).noting(note),
    )?;
    // Against a held contact the output itself may not even stir, once it stands where it is held.
    let may_move = order.by != By::CommandAgainstContact
        || seen.standing.before[usize::from(order.output) - 1] != wanted;
    let moved: Vec<u8> = seen
        .standing
        .stirred()
        .filter(|&output| !seen.tripped && (output != order.output || !may_move))
        .collect();
    let value = seen.supply.map(|_| count(moved.len()));
    course.read(
        Taken::new(Quantity::UnwantedMoves, value, at_most)
            .at(new)
            .knowing(facts)
            .noting(outputs_note("moved too", &moved)),
    )?;
    Ok(())
}

/// The load's current at the clamp that must be closed.
fn load_current(
    course: &mut Course<'_, '_>,
    clamp: Clamp,
    seen: &Seen,
    facts: Facts,
    unsure: Option<Doubt>,
) -> Result<(), Halt> {
    if !course.known.connected[clamp.index()] || course.known.loads == LoadChoice::None {
        return Ok(());
    }
    let expected = seen.supply.and_then(|supply| course.expected(clamp, supply));
    let is_short = course.known.shorted[clamp.index()];
    let least = seen.supply.map_or(0.0, |supply| course.least_closed(clamp, supply));
    let measured = seen.risen_current(clamp, least).filter(|_| !seen.tripped && !is_short);
    let window = expected.as_ref().map_or(Window::OPEN, |e| e.window);
    let estimate = measured.zip(expected.as_ref()).map(|(current, e)| e.compared(current));
    let note = if is_short {
        "its load is a short and stays disconnected"
    } else if seen.tripped {
        "the load supply has tripped"
    } else {
        ""
    };
    let doubt = estimate.and_then(|_| settled_doubt(course, clamp, seen).or(unsure));
    let words = expected.map_or(String::new(), |e| e.in_words());
    let taken =
        Taken::new(Quantity::LoadCurrent, estimate, window).doubting(doubt).limited_by(words);
    course.read(taken.at(clamp).knowing(facts).noting(note))?;
    if estimate.is_some_and(|e| e.value > window.lower.unwrap_or(f64::INFINITY) / 2.0) {
        course.known.has_carried[clamp.index()] = true;
    }
    Ok(())
}

/// The current at the clamp that must be open.
fn old_current(
    course: &mut Course<'_, '_>,
    clamp: Clamp,
    seen: &Seen,
    facts: Facts,
) -> Result<(), Halt> {
    if !course.known.is_loaded(clamp) {
        return Ok(());
    }
    let window = seen
        .supply
        .and_then(|supply| course.expected(clamp, supply))
        .map_or(Window::OPEN, |e| open_current(e.lower()));
    let estimate = seen.settled_current(clamp).filter(|_| !seen.tripped);
    let doubt = estimate.and_then(|_| settled_doubt(course, clamp, seen));
    let taken = Taken::new(Quantity::OpenCurrent, estimate, window)
        .at(clamp)
        .knowing(facts)
        .doubting(doubt);
    course.read(taken.noting(if seen.tripped { "the load supply has tripped" } else { "" }))?;
    Ok(())
}

/// Whether a settled current, or the voltage that it is compared by, is beyond the jig's range.
fn settled_doubt(course: &Course<'_, '_>, clamp: Clamp, seen: &Seen) -> Option<Doubt> {
    course.doubt(&seen.record, clamp.channel(CLAMP_CURRENT), &[LOAD_VOLTAGE], seen.settled())
}

/// The resistance from the load supply through the contact to the clamp, leads included.
fn contact_resistance(
    course: &mut Course<'_, '_>,
    clamp: Clamp,
    seen: &Seen,
    facts: Facts,
    why: &str,
) -> Result<(), Halt> {
    let channels = [LOAD_VOLTAGE, clamp.channel(CLAMP_VOLTAGE), clamp.channel(CLAMP_CURRENT)];
    let is_measurable = course.known.is_loaded(clamp) || course.known.shorted[clamp.index()];
    if !is_measurable || channels.iter().any(|&c| course.jig.channel(c).is_none()) {
        return Ok(());
    }
    let window = of_sheet(&course.plan.module, Quantity::ContactResistance);
    let [supply, voltage, current] = channels;
    let classes = Classes {
        supply: course.class(supply),
        clamp: course.class(voltage),
        current: course.class(current),
    };
    let on = || {
        Some(Around {
            supply: seen.settled_mean(supply)?,
            clamp: seen.settled_mean(voltage)?,
            current: seen.settled_mean(current)?,
        })
    };
    let estimate = on().zip(seen.zero).filter(|_| !seen.tripped).and_then(|(on, zero)| {
        // The jig's own means say nothing of their noise; it is that of the same channels before.
        let at = |mean: &Mean, value: f64| Mean { value, drift: 0.0, ..*mean };
        let off = Around {
            supply: at(&on.supply, zero.supply),
            clamp: at(&on.clamp, zero.clamp),
            current: at(&on.current, zero.current),
        };
        resistance(&on, &off, &classes)
    });
    let small = seen.settled_current(clamp).is_some_and(|i| {
        i.value > course.least_closed(clamp, seen.supply.unwrap_or(Estimate::new(0.0, &[])))
    });
    let doubt = estimate.and_then(|estimate| {
        let touches = |&channel: &u16| {
            let trace = seen.record.trace(channel);
            trace.is_some_and(|t| t.end_touched(seen.settled()).is_some())
        };
        if seen.zero.is_some_and(|z| z.is_cut_off) || channels.iter().any(touches) {
            Some(Doubt::PartBeyond)
        } else {
            is_contradiction(&estimate).then_some(Doubt::Contradiction)
        }
    });
    if doubt.is_none() && estimate.is_some_and(|e| cannot_decide(&e, &window)) {
        return Ok(());
    }
    let taken = Taken::new(Quantity::ContactResistance, estimate, window)
        .at(clamp)
        .knowing(facts)
        .doubting(doubt);
    let taken = match (estimate, small) {
        (Some(_), _) => taken,
        // A small load (a light-emitting diode, say) cannot show a drop: that is no fault.
        (None, true) => Taken { undecided: true, ..taken.noting("too little current to tell") },
        (None, false) => taken.noting(if why.is_empty() { "no current" } else { why }),
    };
    if estimate.is_none() && small {
        return Ok(());
    }
    course.read(taken)?;
    Ok(())
}

/// Whether a resistance is below zero by more than its uncertainty: no contact can do that.
fn is_contradiction(estimate: &Estimate) -> bool {
    estimate.value + estimate.expanded() < 0.0
}

/// Whether an uncertainty is too large for its window to say anything, and the value does not fail
/// all the same: a small load shows no drop. The ratio of 4:1 is that of ANSI/NCSL Z540.3 (from
/// memory).
fn cannot_decide(estimate: &Estimate, window: &Window) -> bool {
    let Some(upper) = window.upper else { return false };
    estimate.expanded() > upper / 4.0 && estimate.value - estimate.expanded() <= upper
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::uncertainty::Component;

    #[test]
    fn a_resistance_below_zero_by_more_than_its_uncertainty_is_a_contradiction() {
        let ohm = |value| Estimate::new(value, &[Component::standard(0.01)]);
        assert!(is_contradiction(&ohm(-0.03)));
        assert!(!is_contradiction(&ohm(-0.01)));
        assert!(!is_contradiction(&ohm(0.3)));
    }
}
