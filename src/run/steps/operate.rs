//! Moves an output: capture, see, search if something is suspicious, judge.

use super::carried_out::{CarriedOut, Lost};
use super::{operation_capture, operation_readings as readings};
use crate::judge::blame::AtClamp;
use crate::procedure::commands::command;
use crate::run::course::Course;
use crate::run::order::Order;
use crate::run::search::{cause, elsewhere, short};
use crate::run::see::change_over::{Side, change};
use crate::run::see::current_rise::current_rise;
use crate::run::see::operation::OperationCapture;
use crate::run::see::shown::Shown;
use crate::run::see::standing::supply_in;
use crate::run::state::Feed;
use crate::run::step_stop::StepStop;
use crate::script::actions::{Operate, Send};
use crate::script::plan::By;
use crate::signal::target::Position;
use core::time::Duration;

impl CarriedOut for Send {
    fn carry_out(&self, course: &mut Course<'_, '_>) -> Result<(), StepStop> {
        send(course, self.output, self.to)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

impl CarriedOut for Operate {
    fn carry_out(&self, course: &mut Course<'_, '_>) -> Result<(), StepStop> {
        operate(course, &order(self), self.window)
    }

    fn lost(&self) -> Lost {
        Lost::Operation(order(self))
    }
}

fn order(operate: &Operate) -> Order {
    Order { output: operate.output, to: operate.to, by: operate.by }
}

/// Sends an output to a position. Nothing is judged, but an output that does not go there is told:
/// what follows would not make sense without it.
pub fn send(course: &mut Course<'_, '_>, output: u8, to: Position) -> Result<(), StepStop> {
    if !matches!(course.state.feed, Feed::On(_)) {
        return Ok(());
    }
    let at = usize::from(output) - 1;
    course.state.ordered[at] = Some(to);
    let (sheet, bank) = (&course.plan.module, course.state.bank);
    let telegram = command(sheet, bank.address, bank.format, output, to)?;
    let asked_us = course.began_us;
    let moved_us = course.bench.command(sheet, &telegram)?;
    course.state.suspect(asked_us, moved_us);
    course.bench.wait_until(moved_us)?;
    if course.loaded_channels().is_empty() || !course.is_seen(output) {
        course.state.positions[at] = Some(to);
        return Ok(());
    }
    let stands = if course.load_supply_on()? { course.look()?[at] } else { Some(to) };
    if stands != Some(to) {
        let order = Order { output, to, by: By::Command };
        elsewhere::find_answer_once(course, &order)?;
        let draft = readings::missed(&order, stands, course.state.facts);
        course.read(draft)?;
    }
    Ok(course.bench.load_supply_off()?)
}

/// Moves an output and judges all that has to do with it.
pub fn operate(
    course: &mut Course<'_, '_>,
    order: &Order,
    window: Duration,
) -> Result<(), StepStop> {
    match course.state.feed {
        Feed::On(_) => {}
        Feed::Tripped => return readings::none(course, order, "the feed has tripped"),
        Feed::Off => return readings::none(course, order, "the feed is off"),
    }
    let Some(mut capture) = operation_capture::take(course, order, window)? else {
        return readings::none(course, order, "the feed has tripped");
    };
    if capture.tripped {
        short::find_short(course)?;
    }
    see_positions(course, &mut capture);
    let shown = see(course, order, &capture);
    let facts = cause::facts(course, order, &capture, shown.change.as_ref())?;
    readings::read(course, &shown, facts)
}

/// Where the capture shows the outputs, and at which voltage.
fn see_positions(course: &mut Course<'_, '_>, capture: &mut OperationCapture) {
    capture.supply = supply_in(&capture.record, capture.settled().start);
    if let Some(supply) = capture.supply {
        capture.standing = course.stand(&capture.record, capture.start, supply);
    }
}

/// What else the capture shows.
fn see<'c>(course: &Course<'_, '_>, order: &Order, capture: &'c OperationCapture) -> Shown<'c> {
    let side = |clamp, supply| {
        let tells = course.tells_by_current(clamp);
        Side { clamp, least_a: tells.then(|| course.least_closed(clamp, supply)) }
    };
    let (new, old) = (order.new_clamp(), order.old_clamp());
    let change = capture.supply.and_then(|s| change(capture, s, side(old, s), side(new, s)));
    let has_closed = change.is_some_and(|c| c.closed.is_some());
    let supply = capture.supply.filter(|_| course.state.is_loaded(new) && !capture.tripped);
    let rise = supply
        .filter(|_| has_closed)
        .and_then(|supply| current_rise(capture, new, course.least_closed(new, supply)));
    // It was there already, and nothing hangs on it: settled voltages tell.
    let stayed = course.is_bare(order.output)
        && capture.at_clamp(new) == AtClamp::Full
        && capture.at_clamp(old) == AtClamp::Absent;
    let by_voltage = stayed || change.is_some_and(|c| c.closed.is_some() && c.opened.is_some());
    Shown { order: *order, capture, change, rise, there_by_voltage: by_voltage }
}
