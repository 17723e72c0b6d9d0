//! A supply trips in the middle of a step: what the step can still say.

use crate::jig::board::Supply;
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::procedure::orders::{self, in_one_line};
use crate::run::course::Course;
use crate::run::judging::draft::ReadingDraft;
use crate::run::order::Order;
use crate::run::search::short;
use crate::run::step_stop::StepStop;
use crate::run::steps::answer;
use crate::run::steps::operation_readings;
use crate::script::plan::{Action, Measured};

/// Makes the jig safe and tells the step's readings as missing. The run goes on: what needs no feed
/// can still be read.
pub fn after(course: &mut Course<'_, '_>, supply: Supply, action: &Action) -> Result<(), StepStop> {
    let why = match supply {
        Supply::Feed => {
            course.state.feed_trips();
            course.bench.send(&in_one_line(&[
                orders::FEED_OFF,
                orders::LOADS_OFF,
                orders::END_CAPTURE,
            ]))?;
            "the feed has tripped"
        }
        Supply::Loads => {
            course.bench.send(orders::END_CAPTURE)?;
            short::find_short(course)?;
            "the load supply has tripped"
        }
    };
    let quantity = match action {
        Action::Operate(operate) => {
            let order = Order { output: operate.output, to: operate.to, by: operate.by };
            return operation_readings::none(course, &order, why);
        }
        Action::FeedOn(_) => Quantity::StartCharge,
        Action::HookUp(_) => Quantity::FeedResistance,
        Action::ProveSwitches(_) => Quantity::Answers,
        Action::Answer(answer) => answer::quantity(answer.polarity),
        Action::Measure(measure) => measured(measure.what),
        // These take no reading.
        Action::Ask(_)
        | Action::FeedOff(_)
        | Action::Loads(_)
        | Action::Wait(_)
        | Action::Send(_)
        | Action::JudgeSwitches(_)
        | Action::WatchLamp(_)
        | Action::JudgeLamp(_) => return Ok(()),
    };
    let facts = Facts { tripped: true, ..course.state.facts };
    let window = of_sheet(&course.plan.module, quantity);
    course.read(ReadingDraft::new(quantity, None, window).knowing(facts).noting(why))?;
    Ok(())
}

const fn measured(what: Measured) -> Quantity {
    match what {
        Measured::IdleCurrent => Quantity::IdleCurrent,
        Measured::AuxiliaryCurrent => Quantity::AuxiliaryCurrent,
        Measured::FeedVoltage => Quantity::FeedVoltage,
        Measured::LoadVoltage => Quantity::LoadVoltage,
        Measured::LoadTotal => Quantity::LoadTotal,
        Measured::LoadStart => Quantity::InrushCurrent,
    }
}
