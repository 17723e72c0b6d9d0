//! The feed turned off and on again, the same way round or the other.

use super::moves::moves_anything;
use crate::procedure::orders;
use crate::procedure::supplies::RUN_DOWN;
use crate::quantity::unit::duration;
use crate::run::ongoing::OngoingRun;
use crate::run::state::Feed;
use crate::run::step_stop::StepStop;
use crate::script::plan::Polarity;
use core::time::Duration;

/// Whether the module answers where it should with the feed the other way round. The feed is as
/// before afterwards.
pub fn answers_inverted(
    run: &mut OngoingRun<'_, '_>,
    polarity: Polarity,
) -> Result<bool, StepStop> {
    if !turn(run, polarity.other())? {
        return Ok(false);
    }
    let (address, format) = (run.state.bank.address, run.state.bank.format);
    let mut found = false;
    if run.load_supply_on()? {
        for output in run.outputs().take(2) {
            found = moves_anything(run, address, format, output)?;
            if found {
                break;
            }
        }
        run.bench.load_supply_off()?;
    }
    turn(run, polarity)?;
    Ok(found)
}

/// Turns the feed off, lets the module run down, and turns the feed on with a polarity. `false`: it
/// does not come on.
pub fn turn(run: &mut OngoingRun<'_, '_>, polarity: Polarity) -> Result<bool, StepStop> {
    let on_us = run.bench.clock_us()?;
    run.state.break_watch(on_us);
    run.bench.feed_off()?;
    let off_us = run.bench.clock_us()?;
    run.state.break_watch(off_us);
    run.bench.pause(RUN_DOWN)?;
    run.bench.send(&orders::feed_on(polarity, run.state.bank.format))?;
    run.state.feed = Feed::On(polarity);
    let boot = duration(run.plan.module.boot);
    run.bench.pause(boot + Duration::from_millis(300))?;
    let on_us = run.bench.clock_us()?;
    run.state.break_watch(on_us);
    if run.bench.trips()?.feed {
        run.state.feed_trips();
        return Ok(false);
    }
    Ok(true)
}
