//! What is read out of the capture of an operation.

use super::course::{Course, Halt, Taken};
use super::diagnose;
use super::operate::Order;
use super::positions::Standing;
use super::power::{count, outputs_note};
use crate::judge::blame::{AtClamp, Facts, PastModule};
use crate::judge::expect::{of_sheet, open_current};
use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::measure::change_over::{ChangeOver, Contact, change_over};
use crate::measure::contact::{Around, Classes, resistance};
use crate::measure::mean::Mean;
use crate::measure::pulse_peak::{PulsePeak, pulse_peak};
use crate::measure::record::Record;
use crate::measure::settled::tail;
use crate::measure::uncertainty::Estimate;
use crate::quantity::unit::Units;
use crate::script::plan::{By, LoadChoice};
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE, FEED_CURRENT, LOAD_VOLTAGE};
use std::ops::Range;

/// Share of the supply that a clamp's voltage must reach to count as closed where no current tells.
const CLOSED_VOLTAGE: f64 = 0.3;
/// Share of the record, at its end, over which settled values are taken; at least 100 scans.
const SETTLED: f64 = 0.15;
/// The running mean that stands for a coil's peak, in microseconds.
const PEAK_WIDTH_US: u32 = 1_000;

/// Means with the load disconnected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Zero {
    pub supply: f64,
    pub clamp: f64,
    pub current: f64,
}

/// A captured operation.
#[derive(Clone, Debug)]
pub(super) struct Seen {
    pub record: Record,
    /// The first scan at which anything may move.
    pub start: usize,
    /// When the module had all it needs, in microseconds after the trigger.
    pub moment_us: f64,
    pub standing: Standing,
    /// Settled voltage of the load supply.
    pub supply: Option<Estimate>,
    pub zero: Option<Zero>,
    /// The load supply has tripped.
    pub tripped: bool,
}

impl Seen {
    fn settled(&self) -> Range<usize> {
        tail(self.record.traces.first().map_or(0, |t| t.values.len()), SETTLED, 100)
    }

    fn settled_mean(&self, channel: u16) -> Option<Mean> {
        Mean::of(self.record.trace(channel)?.values.get(self.settled())?)
    }

    /// Settled current at a clamp with its uncertainty.
    fn settled_current(&self, clamp: Clamp) -> Option<Estimate> {
        let trace = self.record.trace(clamp.channel(CLAMP_CURRENT))?;
        Some(self.settled_mean(trace.channel)?.estimate(&trace.class))
    }

    /// Settled current at a clamp above that before anything moved, when it was open: the offset of
    /// the channel falls out.
    fn risen_current(&self, clamp: Clamp, least: f64) -> Option<Estimate> {
        let trace = self.record.trace(clamp.channel(CLAMP_CURRENT))?;
        let before = Mean::of(trace.values.get(..self.start)?)?;
        let settled = self.settled_mean(trace.channel)?;
        Some(if before.value.abs() < least {
            settled.less(&before, &trace.class)
        } else {
            settled.estimate(&trace.class)
        })
    }

    /// Settled voltage at a clamp over that of the supply.
    pub fn voltage_share(&self, clamp: Clamp) -> Option<f64> {
        let supply = self.supply?.value;
        Some(self.settled_mean(clamp.channel(CLAMP_VOLTAGE))?.value / supply)
    }

    /// The coil's pulse above the current before, where there is one at all.
    pub fn coil(&self) -> Option<PulsePeak> {
        let trace = self.record.trace(FEED_CURRENT)?;
        let width = (PEAK_WIDTH_US / self.record.interval_us.max(1)).max(1) as usize;
        pulse_peak(&trace.values, self.start, width, &trace.class)
    }
}

/// Readings of an operation that could not be carried out.
pub(super) fn none(course: &mut Course<'_, '_>, order: &Order, why: &str) -> Result<(), Halt> {
    let facts = Facts { tripped: true, ..course.known.facts };
    for quantity in quantities(order.by) {
        let window = of_sheet(&course.plan.module, *quantity);
        let taken =
            Taken::new(*quantity, None, window).at(order.new_clamp()).knowing(facts).noting(why);
        course.read(taken)?;
    }
    Ok(())
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
pub(super) fn read(course: &mut Course<'_, '_>, order: &Order, mut seen: Seen) -> Result<(), Halt> {
    let settled = seen.settled();
    seen.supply = course.supply_in(&seen.record, settled.start);
    if let Some(supply) = seen.supply {
        seen.standing = course.stand(&seen.record, seen.start, supply);
    }
    let change = change(course, order, &seen);
    let facts = diagnose::facts(course, order, &seen, change.as_ref())?;
    let (new, old) = (order.new_clamp(), order.old_clamp());
    let why = match &change {
        Some(change) if change.closed.is_some() => "",
        change => why_missing(order, &seen, change.as_ref()),
    };

    positions(course, order, &seen, change.as_ref(), facts)?;
    if order.by == By::CommandAgainstContact {
        return Ok(());
    }
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
        let note = if estimate.is_none() {
            why_missing(order, &seen, change.as_ref())
        } else if quantity == Quantity::Gap && estimate.is_some_and(|e| e.value < 0.0) {
            "both positions are closed for a while"
        } else {
            ""
        };
        course.read(Taken::new(quantity, estimate, window).at(new).knowing(facts).noting(note))?;
    }
    load_current(course, new, &seen, facts)?;
    old_current(course, old, &seen, facts)?;
    contact_resistance(course, new, &seen, facts, why)?;
    let window = of_sheet(&course.plan.module, Quantity::CoilCurrent);
    let coil = seen.coil().map(|p| p.height);
    course.read(Taken::new(Quantity::CoilCurrent, coil, window).at(new).knowing(facts))?;
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
    let by_voltage = change.is_some_and(|c| c.closed.is_some() && c.opened.is_some());
    let is_there = seen.standing.of(order.output) == wanted || by_voltage;
    let value = seen.supply.map(|_| count(usize::from(!is_there)));
    let note = match (is_there, seen.standing.of(order.output)) {
        (true, _) => String::new(),
        (false, Some(at)) => format!("stands at {at}"),
        (false, None) => "stands at neither position, or at both".into(),
    };
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
) -> Result<(), Halt> {
    if !course.known.connected[clamp.index()] || course.known.loads == LoadChoice::None {
        return Ok(());
    }
    let expected = seen.supply.and_then(|supply| course.expected(clamp, supply));
    let is_short = course.known.shorted[clamp.index()];
    let least = seen.supply.map_or(0.0, |supply| course.least_closed(clamp, supply));
    let measured = seen.risen_current(clamp, least).filter(|_| !seen.tripped && !is_short);
    let (estimate, window) = match (measured, expected) {
        (Some(current), Some(expected)) => (Some(expected.compared(current)), expected.window),
        (_, expected) => (None, expected.map_or(Window::OPEN, |e| e.window)),
    };
    let note = if is_short {
        "its load is a short and stays disconnected"
    } else if seen.tripped {
        "the load supply has tripped"
    } else {
        ""
    };
    let taken = Taken::new(Quantity::LoadCurrent, estimate, window);
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
    let taken = Taken::new(Quantity::OpenCurrent, estimate, window).at(clamp).knowing(facts);
    course.read(taken.noting(if seen.tripped { "the load supply has tripped" } else { "" }))?;
    Ok(())
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
    if estimate.is_some_and(|e| cannot_decide(&e, &window)) {
        return Ok(());
    }
    let taken = Taken::new(Quantity::ContactResistance, estimate, window).at(clamp).knowing(facts);
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

/// Whether an uncertainty is too large for its window to say anything, and the value does not fail
/// all the same: a small load shows no drop. The ratio of 4:1 is that of ANSI/NCSL Z540.3 (from
/// memory).
fn cannot_decide(estimate: &Estimate, window: &Window) -> bool {
    let Some(upper) = window.upper else { return false };
    estimate.expanded() > upper / 4.0 && estimate.value - estimate.expanded() <= upper
}

/// What the voltage at a clamp says.
pub(super) fn at_clamp(seen: &Seen, clamp: Clamp) -> AtClamp {
    match seen.voltage_share(clamp) {
        None => AtClamp::Unknown,
        Some(share) if share >= 0.9 => AtClamp::Full,
        Some(share) if share >= 0.1 => AtClamp::Dropped,
        Some(_) => AtClamp::Absent,
    }
}

/// Whether a load reading looks wrong enough to look past the module.
pub(super) fn needs_look(course: &Course<'_, '_>, clamp: Clamp, seen: &Seen) -> bool {
    if course.known.past_module[clamp.index()] != PastModule::Unknown
        || !course.known.is_loaded(clamp)
        || seen.tripped
    {
        return false;
    }
    let Some(supply) = seen.supply else { return false };
    let (Some(current), Some(expected)) =
        (seen.settled_current(clamp), course.expected(clamp, supply))
    else {
        return false;
    };
    // A clamp well below the supply: the drop may lie in the lead or in the contact.
    let dropped = at_clamp(seen, clamp) != AtClamp::Full
        || seen.voltage_share(clamp).is_some_and(|share| {
            let upper = course.plan.module.contact_resistance.upper.map_or(0.0, Units::si);
            (1.0 - share) * supply.value > upper * current.value.max(0.05)
        });
    if dropped {
        return true;
    }
    let guard = expected.compared(current).expanded();
    expected.window.side(Some(current.value - guard)) != crate::judge::verdict::Side::Inside
        || expected.window.side(Some(current.value + guard)) != crate::judge::verdict::Side::Inside
}
