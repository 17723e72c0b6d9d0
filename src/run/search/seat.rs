//! A module that is pulled out while it is tested: nothing more is read of it, and the run is none.

use super::turned::turn;
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::procedure::orders;
use crate::procedure::seat::Seat;
use crate::run::ongoing::OngoingRun;
use crate::run::state::Feed;
use crate::run::step_stop::StepStop;
use crate::wire::channel::FEED_CURRENT;
use crate::wire::suffix::Supply;
use crate::wire::tree::query;
use core::time::Duration;

/// A module that draws less than this share of its least idle current draws nothing.
const NOTHING: f64 = 0.2;

/// So often it is looked, over about a second: a lamp that is dark for a moment is no empty seat.
const LOOKS: u32 = 8;
const BETWEEN: Duration = Duration::from_millis(120);

/// Looks whether the module is still in the jig, where that is wanted and it was seen there before power. Costs
/// nothing where current flows; a module that is there and draws nothing has its feed turned off and on again.
///
/// # Errors
/// [`StepStop::Stopped`] when it is not; else when the line fails.
pub fn still_there(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    let Feed::On(polarity) = run.state.feed else { return Ok(()) };
    if !run.options.watches_seat || !run.state.seat_taken {
        return Ok(());
    }
    let Some(least) = of_sheet(&run.plan.module, Quantity::IdleCurrent).lower else {
        return Ok(());
    };
    for look in 0..LOOKS {
        if look > 0 {
            run.bench.pause(BETWEEN)?;
        }
        let drawn = run.bench.numbers(&orders::currents(&[FEED_CURRENT]), BETWEEN)?;
        if drawn.iter().any(|&ampere| ampere >= NOTHING * least) {
            return Ok(());
        }
    }
    let loads_on = run.bench.jig.ask(&query::Output { supply: Supply::Loads })?;
    run.bench.send(&(orders::FEED_OFF, orders::LOADS_OFF))?;
    if run.bench.seat()? == Seat::Empty {
        return Err(StepStop::Stopped);
    }
    // It is there and dead. Once is enough.
    run.state.seat_taken = false;
    if turn(run, polarity)? && loads_on {
        run.load_supply_on()?;
    }
    Ok(())
}
