//! A supply trips in the middle of a step: what the step can still say.

use crate::jig::board::Supply;
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::procedure::orders;
use crate::run::course::Course;
use crate::run::judging::draft::ReadingDraft;
use crate::run::search::short;
use crate::run::step_stop::StepStop;
use crate::run::steps::carried_out::{Lost, carried_out};
use crate::run::steps::operation_readings;
use crate::script::plan::Action;

/// Makes the jig safe and tells the step's readings as missing. The run goes on: what needs no feed
/// can still be read.
pub fn after(course: &mut Course<'_, '_>, supply: Supply, action: &Action) -> Result<(), StepStop> {
    let why = match supply {
        Supply::Feed => {
            course.state.feed_trips();
            course.bench.send(&(orders::FEED_OFF, orders::LOADS_OFF, orders::END_CAPTURE))?;
            "the feed has tripped"
        }
        Supply::Loads => {
            course.bench.send(&orders::END_CAPTURE)?;
            short::find_short(course)?;
            "the load supply has tripped"
        }
    };
    let quantity = match carried_out(action).lost() {
        Lost::Nothing => return Ok(()),
        Lost::Operation(order) => return operation_readings::none(course, &order, why),
        Lost::Reading(quantity) => quantity,
    };
    let facts = Facts::from(course.state.facts).tripping(true);
    let window = of_sheet(&course.plan.module, quantity);
    course.read(ReadingDraft::new(quantity, None, window).knowing(facts).noting(why))?;
    Ok(())
}
