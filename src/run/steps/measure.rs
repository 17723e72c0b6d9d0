//! A quantity over a window: feed voltage, idle and auxiliary current (for the loads see
//! `loads_measured`).

use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::{Quantity, Verdict};
use crate::judge::verdict::Window;
use crate::measure::blinking::BlinkingMean;
use crate::measure::uncertainty::Estimate;
use crate::procedure::captures::STEADY_AVERAGE;
use crate::quantity::unit::Units;
use crate::run::course::Course;
use crate::run::judging::draft::ReadingDraft;
use crate::run::see::untrusted::Untrusted;
use crate::run::see::untrusted::beyond_range;
use crate::run::step_stop::StepStop;
use crate::run::steps::load_start;
use crate::run::steps::loads_measured;
use crate::script::actions::MeasureOver;
use crate::script::plan::Measured;
use crate::wire::channel::{FEED_CURRENT, FEED_VOLTAGE};
use core::time::Duration;

impl CarriedOut for MeasureOver {
    fn carry_out(&self, course: &mut Course<'_, '_>) -> Result<(), StepStop> {
        measure(course, self.what, self.window)
    }

    fn lost(&self) -> Lost {
        Lost::Reading(match self.what {
            Measured::IdleCurrent => Quantity::IdleCurrent,
            Measured::AuxiliaryCurrent => Quantity::AuxiliaryCurrent,
            Measured::FeedVoltage => Quantity::FeedVoltage,
            Measured::LoadVoltage => Quantity::LoadVoltage,
            Measured::LoadTotal => Quantity::LoadTotal,
            Measured::LoadStart => Quantity::InrushCurrent,
        })
    }
}

pub fn measure(
    course: &mut Course<'_, '_>,
    what: Measured,
    window: Duration,
) -> Result<(), StepStop> {
    match what {
        Measured::FeedVoltage => feed_voltage(course, window),
        Measured::IdleCurrent => idle_current(course, window),
        Measured::AuxiliaryCurrent => auxiliary_current(course, window),
        Measured::LoadVoltage => loads_measured::load_voltage(course, window),
        Measured::LoadTotal => loads_measured::load_total(course, window),
        Measured::LoadStart => load_start::load_start(course),
    }
}

fn feed_voltage(course: &mut Course<'_, '_>, window: Duration) -> Result<(), StepStop> {
    let record = course.sample(vec![FEED_VOLTAGE], window)?;
    let class = course.class(FEED_VOLTAGE);
    let estimate = record.trace(FEED_VOLTAGE).and_then(|t| t.mean(..)).map(|m| m.estimate(&class));
    let limits = of_sheet(&course.plan.module, Quantity::FeedVoltage);
    let tripped = course.feed_tripped()?;
    let draft = ReadingDraft::new(Quantity::FeedVoltage, estimate, limits)
        .knowing(Facts::from(course.state.facts).tripping(tripped))
        .noting(if tripped { "the feed has tripped" } else { "" })
        .untrusted(beyond_range(&record, FEED_VOLTAGE, &[], ..));
    let decided = course.read(draft)?;
    course.state.facts.feed_wrong = !tripped && decided == Verdict::Fail;
    Ok(())
}

/// Feed current over whole blinks of the lamp, and whether it may be trusted.
fn feed_current(
    course: &mut Course<'_, '_>,
    window: Duration,
) -> Result<(Option<BlinkingMean>, Option<Untrusted>), StepStop> {
    let record = course.sample(vec![FEED_CURRENT], window)?;
    // Averaging goes on within a count.
    let within = 1.0 / f64::from(STEADY_AVERAGE);
    let mean = record
        .trace(FEED_CURRENT)
        .and_then(|t| Some(BlinkingMean::of(&t.numbers(), within)?.on(&t.scale)));
    Ok((mean, beyond_range(&record, FEED_CURRENT, &[], ..)))
}

/// Tells a reading of the feed current that a trip has draft away.
fn missing(course: &mut Course<'_, '_>, quantity: Quantity) -> Result<(), StepStop> {
    let facts = Facts::from(course.state.facts).tripping(true);
    let window = of_sheet(&course.plan.module, quantity);
    let draft =
        ReadingDraft::new(quantity, None, window).knowing(facts).noting("the feed has tripped");
    course.read(draft)?;
    Ok(())
}

fn idle_current(course: &mut Course<'_, '_>, window: Duration) -> Result<(), StepStop> {
    let (mean, untrusted) = feed_current(course, window)?;
    if course.feed_tripped()? {
        missing(course, Quantity::IdleCurrent)?;
        return match course.state.with_auxiliary.take() {
            Some(_) => missing(course, Quantity::AuxiliaryCurrent),
            None => Ok(()),
        };
    }
    let class = course.class(FEED_CURRENT);
    let limits = of_sheet(&course.plan.module, Quantity::IdleCurrent);
    let estimate = mean.map(|m| m.estimate(&class));
    course.state.idle = mean;
    course.state.idle_untrusted = untrusted;
    if let Some(e) = estimate {
        course.state.facts.draws_nothing = limits.lower.is_some_and(|l| e.value < 0.2 * l);
    }
    let mut facts = Facts::from(course.state.facts);
    facts.reading.auxiliary_on = estimate.is_some_and(|e| holds_auxiliary(course, &e, &limits))
        && !rises(course, mean.as_ref());
    let draft = ReadingDraft::new(Quantity::IdleCurrent, estimate, limits)
        .knowing(facts)
        .untrusted(untrusted);
    course.read(draft.noting(open_note(mean.as_ref())))?;
    auxiliary_reading(course)
}

/// Whether the idle current is too high by about what the auxiliary supply draws.
fn holds_auxiliary(course: &Course<'_, '_>, idle: &Estimate, limits: &Window) -> bool {
    let Some(auxiliary) = &course.plan.module.auxiliary_current else { return false };
    let (Some(lower), Some(upper)) = (limits.lower, limits.upper) else { return false };
    let least = auxiliary.lower.map_or(0.0, Units::si);
    let most = auxiliary.upper.map_or(f64::INFINITY, Units::si);
    (lower + least..=upper + most).contains(&idle.value)
}

/// Whether the feed current has been seen to rise by the auxiliary supply, above this idle current:
/// then the idle current cannot hold it.
fn rises(course: &Course<'_, '_>, idle: Option<&BlinkingMean>) -> bool {
    let (Some(with), Some(idle)) = (&course.state.with_auxiliary, idle) else { return false };
    let limits = of_sheet(&course.plan.module, Quantity::AuxiliaryCurrent);
    let rise = with.less(idle, &course.class(FEED_CURRENT)).value;
    rise > limits.lower.unwrap_or(0.0) / 2.0
}

fn auxiliary_current(course: &mut Course<'_, '_>, window: Duration) -> Result<(), StepStop> {
    let (with, untrusted) = feed_current(course, window)?;
    if course.feed_tripped()? {
        return missing(course, Quantity::AuxiliaryCurrent);
    }
    course.state.with_auxiliary = with;
    course.state.auxiliary_untrusted = untrusted;
    auxiliary_reading(course)
}

/// The rise by the auxiliary supply, once both currents are there.
fn auxiliary_reading(course: &mut Course<'_, '_>) -> Result<(), StepStop> {
    let (Some(idle), Some(with)) = (course.state.idle, course.state.with_auxiliary) else {
        return Ok(());
    };
    course.state.with_auxiliary = None;
    let class = course.class(FEED_CURRENT);
    let estimate = with.less(&idle, &class);
    let limits = of_sheet(&course.plan.module, Quantity::AuxiliaryCurrent);
    let mut facts = Facts::from(course.state.facts);
    let idle_limits = of_sheet(&course.plan.module, Quantity::IdleCurrent);
    // On both times: the rise is missing because the idle current holds it already.
    let missing = limits.lower.is_some_and(|l| estimate.value < 0.2 * l);
    facts.reading.auxiliary_on =
        missing && holds_auxiliary(course, &idle.estimate(&class), &idle_limits);
    facts.reading.auxiliary_off = missing && !facts.reading.auxiliary_on;
    // A rise is the difference of two readings: either may spoil it.
    let untrusted = course.state.idle_untrusted.or(course.state.auxiliary_untrusted);
    let draft = ReadingDraft::new(Quantity::AuxiliaryCurrent, Some(estimate), limits)
        .knowing(facts)
        .untrusted(untrusted.map(|_| Untrusted::PartBeyond));
    course.read(draft.noting(open_note(Some(&with))))?;
    Ok(())
}

fn open_note(mean: Option<&BlinkingMean>) -> &'static str {
    if mean.is_some_and(|m| m.open > 0.0) {
        "no whole blink of the lamp in the window: measure over a longer one"
    } else {
        ""
    }
}
