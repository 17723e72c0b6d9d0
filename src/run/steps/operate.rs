//! Moves an output: capture, see, search if something is suspicious, judge.

use super::answers_reading::after_search;
use super::carried_out::{CarriedOut, Lost};
use super::trip::FEED_HAS_TRIPPED;
use super::{operation_capture, operation_readings as readings};
use crate::judge::blame::{AtClamp, Facts};
use crate::procedure::commands::command;
use crate::run::ongoing::OngoingRun;
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
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        send(run, self.output, self.to)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

impl CarriedOut for Operate {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        operate(run, &order(self), [self.window, self.settles])
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
pub fn send(run: &mut OngoingRun<'_, '_>, output: u8, to: Position) -> Result<(), StepStop> {
    if !matches!(run.state.feed, Feed::On(_)) {
        return Ok(());
    }
    let at = usize::from(output) - 1;
    run.state.ordered[at] = Some(to);
    let (sheet, bank) = (&run.plan.module, run.state.bank);
    let telegram = command(sheet, bank.address, bank.format, output, to)?;
    let asked_us = run.began_us;
    let moved_us = run.bench.command(sheet, &telegram)?;
    run.state.suspect(asked_us, moved_us);
    run.bench.wait_until(moved_us)?;
    if run.loaded_channels().is_empty() || !run.is_seen(output) {
        run.state.positions[at] = Some(to);
        return Ok(());
    }
    let stands = if run.load_supply_on()? { run.look()?[at] } else { Some(to) };
    if stands != Some(to) {
        let order = Order { output, to, by: By::Command };
        let found = elsewhere::seek_once(run, &order)?;
        after_search(run, found)?;
        let draft = readings::missed(&order, stands, run.state.facts, &run.plan.module.positions);
        run.read(draft)?;
    }
    Ok(run.bench.load_supply_off()?)
}

/// Moves an output and judges all that has to do with it. `times`: how long is captured, and how long
/// after that the load's current may be judged.
pub fn operate(
    run: &mut OngoingRun<'_, '_>,
    order: &Order,
    times: [Duration; 2],
) -> Result<(), StepStop> {
    let facts = Facts::from(run.state.facts).tripping(true);
    match run.state.feed {
        Feed::On(_) => {}
        Feed::Tripped => return readings::none(run, order, FEED_HAS_TRIPPED, facts),
        Feed::Off => return readings::none(run, order, "the feed is off", facts),
    }
    let Some(mut capture) = operation_capture::take(run, order, times)? else {
        return readings::none(run, order, FEED_HAS_TRIPPED, facts);
    };
    if capture.tripped {
        short::find_short(run)?;
    }
    see_positions(run, &mut capture);
    let shown = see(run, order, &capture);
    if order.by == By::Command {
        if cause::stirs(run, order, &capture, shown.change.as_ref()) {
            run.state.answers_here();
        } else if !capture.tripped {
            let found = elsewhere::seek_once(run, order)?;
            after_search(run, found)?;
        }
    }
    let facts = cause::facts(run, order, &capture, shown.change.as_ref())?;
    readings::read(run, &shown, facts)
}

/// Where the capture shows the outputs, and at which voltage.
fn see_positions(run: &mut OngoingRun<'_, '_>, capture: &mut OperationCapture) {
    capture.supply = supply_in(&capture.record, capture.settled().start);
    if let Some(supply) = capture.supply {
        capture.standing = run.stand(&capture.record, capture.start, supply);
    }
}

/// What else the capture shows.
fn see<'c>(run: &OngoingRun<'_, '_>, order: &Order, capture: &'c OperationCapture) -> Shown<'c> {
    let side = |clamp, supply| {
        let tells = run.tells_by_current(clamp);
        Side { clamp, least_a: tells.then(|| run.least_closed(clamp, supply)) }
    };
    let (new, old) = (order.new_clamp(), order.old_clamp());
    let change = capture.supply.and_then(|s| change(capture, s, side(old, s), side(new, s)));
    let has_closed = change.is_some_and(|c| c.closed.is_some());
    let supply = capture.supply.filter(|_| run.state.is_loaded(new) && !capture.tripped);
    let rise = supply
        .filter(|_| has_closed)
        .and_then(|supply| current_rise(capture, new, run.least_closed(new, supply)));
    // It was there already, and nothing hangs on it: settled voltages tell.
    let stayed = run.is_bare(order.output)
        && capture.at_clamp(new) == AtClamp::Full
        && capture.at_clamp(old) == AtClamp::Absent;
    let by_voltage = stayed || change.is_some_and(|c| c.closed.is_some() && c.opened.is_some());
    Shown { order: *order, capture, change, rise, there_by_voltage: by_voltage }
}
