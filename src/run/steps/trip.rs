//! A supply trips in the middle of a step: what the step can still say.

use crate::jig::board::Supply;
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::procedure::orders;
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::search::short;
use crate::run::step_stop::StepStop;
use crate::run::steps::carried_out::{Lost, carried_out};
use crate::run::steps::operation_readings;
use crate::script::plan::Action;

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
            "the feed has tripped"
        }
        Supply::Loads => {
            run.bench.send(&orders::END_CAPTURE)?;
            short::find_short(run)?;
            "the load supply has tripped"
        }
    };
    let quantity = match carried_out(action).lost() {
        Lost::Nothing => return Ok(()),
        Lost::Operation(order) => return operation_readings::none(run, &order, why),
        Lost::Reading(quantity) => quantity,
    };
    let facts = Facts::from(run.state.facts).tripping(true);
    let window = of_sheet(&run.plan.module, quantity);
    run.read(ReadingDraft::new(quantity, None, window).knowing(facts).noting(why))?;
    Ok(())
}
