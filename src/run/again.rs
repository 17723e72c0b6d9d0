//! A step taken again: the jig has let a load rest in the middle of it, because the line is slow; or the
//! module was found to answer elsewhere.
//!
//! When a load rests, nothing was read in it so far. What it has moved is put back first, so that the second time shows what the
//! first one would have; where that cannot be done, the run ends with bench trouble.

use super::event::Event;
use super::ongoing::OngoingRun;
use super::search::{tell, turned};
use super::state::{Feed, RunState};
use super::step_stop::StepStop;
use super::steps::carried_out::carried_out;
use crate::procedure::orders;
use crate::procedure::supplies::RUN_DOWN;
use crate::quantity::unit::duration;
use crate::script::plan::{Action, BankSetting};
use crate::signal::target::{Clamp, Format, Position};
use crate::wire::channel::CONTACT_CLOSER;

/// Carries an action out; again as often as a load had to rest, as long as the script allows.
pub fn carry_out(run: &mut OngoingRun<'_, '_>, action: &Action) -> Result<(), StepStop> {
    run.state.last_told = None;
    let before = run.state.clone();
    let read = run.readings_so_far();
    let mut result = carried_out(action).carry_out(run);
    loop {
        match result {
            Err(StepStop::Rested) => {
                if run.readings_so_far() > read || !is_known(run, action, &before) {
                    return Err(StepStop::too_warm());
                }
                result = put_back(run, &before).and_then(|()| carried_out(action).carry_out(run));
            }
            Err(StepStop::Moved) => {
                move_there(run, &before)?;
                result = carried_out(action).carry_out(run);
            }
            result => return result,
        }
    }
}

/// The module was found elsewhere: its outputs go back to where they stood, by commands to where it
/// answers.
fn move_there(run: &mut OngoingRun<'_, '_>, before: &RunState) -> Result<(), StepStop> {
    let BankSetting { address, format, .. } = run.state.bank;
    run.bench.send(&(orders::LOADS_OFF, orders::END_CAPTURE))?;
    move_back(run, before, (address, format))?;
    run.state.ordered = before.ordered;
    run.late = true;
    run.begin_slot()
}

/// Whether it is known where outputs stood before, if the action shows how they move from there.
fn is_known(run: &OngoingRun<'_, '_>, action: &Action, before: &RunState) -> bool {
    let keeps = run.plan.module.keeps_position;
    let shows_moves =
        matches!(action, Action::Operate(_)) || keeps && matches!(action, Action::FeedOn(_));
    let mut seen = run.outputs().filter(|&output| run.is_seen(output));
    !shows_moves || seen.all(|output| before.positions[usize::from(output) - 1].is_some())
}

/// Makes all as it was before the step.
fn put_back(run: &mut OngoingRun<'_, '_>, before: &RunState) -> Result<(), StepStop> {
    let index = run.index;
    run.emit(&Event::StepPutBack { index })?;
    let closers = Clamp::ALL.map(|clamp| clamp.channel(CONTACT_CLOSER));
    let closers: Vec<u16> = closers.into_iter().filter(|&c| run.bench.has(c)).collect();
    run.bench.send(&(orders::LOADS_OFF, orders::END_CAPTURE, orders::open(&closers)))?;
    run.let_loads_rest()?;

    let (feed, watch) = (run.state.feed, run.state.watch.take());
    // A search may have found it elsewhere: what was told last is what has moved it.
    let bank = before.bank;
    let listens_at = run.state.last_told.unwrap_or((bank.address, bank.format));
    run.state = before.clone();
    (run.state.feed, run.state.watch) = (feed, watch);
    run.state.loads_off_since_us = run.bench.clock_us()?;
    run.close_loads()?;
    match (before.feed, feed) {
        (Feed::On(was), Feed::On(is)) => {
            if was != is && !turned::turn(run, was)? {
                return Err(StepStop::too_warm());
            }
            move_back(run, before, listens_at)?;
        }
        (Feed::Off, Feed::On(_)) => {
            // What falls back at power-on does so again.
            if run.plan.module.keeps_position {
                move_back(run, before, listens_at)?;
            }
            let now_us = run.bench.clock_us()?;
            run.state.break_watch(now_us);
            run.bench.feed_off()?;
            run.bench.pause(RUN_DOWN)?;
            run.state.feed = Feed::Off;
        }
        (was, is) if was == is => {}
        _ => return Err(StepStop::too_warm()),
    }
    // What the first try took is lost for the run as the rest is.
    run.count_rest(run.began_us)?;
    run.begin_slot()?;
    run.emit(&Event::StepAgain { index })
}

/// Sends the outputs back to where they stood before the step.
fn move_back(
    run: &mut OngoingRun<'_, '_>,
    before: &RunState,
    (first, format): (u16, Format),
) -> Result<(), StepStop> {
    let stood = before.positions;
    if run.loaded_channels().is_empty() {
        return Ok(());
    }
    if !run.load_supply_on()? {
        return Err(StepStop::too_warm());
    }
    let moved = differing(&stood, &run.look()?);
    for &(output, to) in &moved {
        tell::order(run, first, format, output, to)?;
    }
    if !moved.is_empty() {
        if !differing(&stood, &run.look()?).is_empty() {
            return Err(StepStop::too_warm());
        }
        run.bench.pause(duration(run.plan.module.rest))?;
    }
    run.bench.load_supply_off()?;
    run.state.positions = stood;
    Ok(())
}

/// Outputs that are known to have stood elsewhere than they stand now, and where.
fn differing(stood: &[Option<Position>; 4], stand: &[Option<Position>; 4]) -> Vec<(u8, Position)> {
    let pairs = (1..).zip(stood.iter().zip(stand));
    pairs.filter_map(|(output, (was, is))| was.filter(|_| was != is).map(|p| (output, p))).collect()
}
