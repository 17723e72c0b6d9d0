//! A supply trips in the middle of a step: what the step can still say.

use crate::jig::board::Supply;
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::procedure::orders;
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::search::short;
use crate::run::step_stop::StepStop;
use crate::run::steps::carried_out::{Lost, carried_out};
use crate::run::steps::operation_readings;
use crate::script::plan::Action;

/// What is noted of a reading that the trip of the feed has taken away.
pub const FEED_HAS_TRIPPED: &str = "the feed has tripped";

/// Tells that the feed has tripped, unless a reading has told it.
pub fn tell(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    if run.has_noted(FEED_HAS_TRIPPED) {
        return Ok(());
    }
    let facts = Facts::from(run.state.facts).tripping(true);
    let quantity = Quantity::IdleCurrent;
    let window = of_sheet(&run.plan.module, quantity);
    let draft = ReadingDraft::new(quantity, None, window).knowing(facts);
    run.read(draft.noting(FEED_HAS_TRIPPED))?;
    Ok(())
}

/// Makes the jig safe and tells the step's readings as missing. The run goes on: what needs no feed
/// can still be read.
pub fn after(
    run: &mut OngoingRun<'_, '_>,
    supply: Supply,
    action: &Action,
) -> Result<(), StepStop> {
    let why = match supply {
        Supply::Feed => {
            run.state.feed_trips();
            run.bench.send(&(orders::FEED_OFF, orders::LOADS_OFF, orders::END_CAPTURE))?;
            FEED_HAS_TRIPPED
        }
        Supply::Loads => {
            run.bench.send(&orders::END_CAPTURE)?;
            short::find_short(run)?;
            "the load supply has tripped"
        }
    };
    let facts = Facts::from(run.state.facts).tripping(true).losing_loads(supply == Supply::Loads);
    let quantity = match carried_out(action).lost() {
        Lost::Nothing => return Ok(()),
        Lost::Operation(order) => return operation_readings::none(run, &order, why, facts),
        Lost::Reading(quantity) => quantity,
    };
    let window = of_sheet(&run.plan.module, quantity);
    run.read(ReadingDraft::new(quantity, None, window).knowing(facts).noting(why))?;
    Ok(())
}
