//! The hook-up, with everything off: is anything joined that must be apart?
//!
//! The jig measures with at most 5 V and 10 mA. A run whose hook-up is shorted ends here, before
//! power: nothing gets hot.

use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::{Bound, Quantity, Verdict};
use crate::judge::verdict::{Side, Window};
use crate::measure::budget::Source;
use crate::measure::channel_class::ChannelClass;
use crate::measure::uncertainty::{Component, Estimate};
use crate::procedure::bench::RESISTANCES_TAKE;
use crate::procedure::bench::no_number;
use crate::procedure::channels::class;
use crate::procedure::orders;
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::step_stop::StepStop;
use crate::script::actions::HookUp;
use crate::wire::channel::{COMMON_TO_COMMON, Description, FEED_RESISTANCE, FEED_TO_COMMONS};

impl CarriedOut for HookUp {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        measure(run)
    }

    fn lost(&self) -> Lost {
        Lost::Reading(Quantity::FeedResistance)
    }
}

/// What is measured where, and what to say and to do when it is too low.
const PAIRS: [(u16, Quantity, &str); 3] = [
    (
        FEED_RESISTANCE,
        Quantity::FeedResistance,
        "too low for power: leave the power off, and look for a short between the feed wires and \
         in the module",
    ),
    (
        FEED_TO_COMMONS,
        Quantity::FeedToCommons,
        "a feed wire touches a common: leave the power off, and look for wires or strands that \
         touch at the feed and the commons",
    ),
    (
        COMMON_TO_COMMON,
        Quantity::CommonToCommon,
        "two commons touch: leave the power off, and look for wires or strands that touch at the \
         commons",
    ),
];

/// Why no power is given.
const SHORTED: &str = "what must be apart touches, so no power was given";

/// Measures all that this jig can, and judges it.
pub fn measure(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    if !run.bench.has(FEED_RESISTANCE) {
        missing(run)?;
    }
    let has_pairs = run.plan.module.outputs > 1;
    let measured: Vec<(Description, Quantity, &str)> = PAIRS
        .into_iter()
        .filter(|&(_, quantity, _)| has_pairs || quantity != Quantity::CommonToCommon)
        .filter_map(|(channel, quantity, why)| Some((*run.channels().get(channel)?, quantity, why)))
        .collect();
    if measured.is_empty() {
        return Ok(());
    }
    let channels: Vec<u16> = measured.iter().map(|(d, ..)| d.channel).collect();
    let request = orders::resistances(&channels);
    let values = run.bench.numbers(&request, RESISTANCES_TAKE)?;
    if values.len() != measured.len() {
        return Err(no_number(&request).into());
    }
    let mut is_shorted = false;
    for ((description, quantity, why), value) in measured.into_iter().zip(values) {
        let window = of_sheet(&run.plan.module, quantity);
        let draft = draft(quantity, window, value, class(&description), description.maximum);
        if quantity == Quantity::FeedResistance {
            run.state.seat_taken = value <= description.maximum - description.scale;
        }
        let is_low = window.side(Some(value)) == Side::Below;
        let verdict = run.read(draft.noting(if is_low { why } else { "" }))?;
        is_shorted |= is_low && verdict == Verdict::Fail;
    }
    if is_shorted { Err(StepStop::Enough(SHORTED.into())) } else { Ok(()) }
}

fn missing(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    let window = of_sheet(&run.plan.module, Quantity::FeedResistance);
    let draft = ReadingDraft::new(Quantity::FeedResistance, None, window).undecided();
    run.read(draft.knowing(Facts::without_channel()).noting("this jig cannot measure it"))?;
    Ok(())
}

fn draft(
    quantity: Quantity,
    window: Window,
    value: f64,
    class: ChannelClass,
    highest: f64,
) -> ReadingDraft {
    if value > highest - class.resolution {
        // More than the jig can tell: a lower limit is met, an upper one is not.
        let beyond = Estimate::new(highest, &[]);
        let open = window.upper.is_none() && window.lower.is_none_or(|l| l < highest);
        return ReadingDraft::new(quantity, open.then_some(beyond), window)
            .bound(Bound::MoreThan)
            .noting(format!("more than {highest} ohm, the most that the jig can tell"));
    }
    let estimate = Estimate::new(
        value,
        &[
            Component::rectangular(class.resolution / 2.0).from(Source::Resolution),
            Component::rectangular(class.linearity).from(Source::Linearity),
            Component::rectangular(class.offset).from(Source::Offset),
            Component::rectangular(class.gain * value).from(Source::Gain),
        ],
    );
    ReadingDraft::new(quantity, Some(estimate), window)
}
