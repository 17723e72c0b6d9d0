//! A quantity over a window: feed voltage, idle and auxiliary current (for the loads see
//! `loads_measured`).

use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::{Quantity, Verdict};
use crate::judge::verdict::Window;
use crate::link::capture::{CaptureSetup, Trigger};
use crate::link::client::micros;
use crate::measure::blinking::BlinkingMean;
use crate::measure::mean::Mean;
use crate::measure::record::Record;
use crate::measure::uncertainty::Estimate;
use crate::quantity::unit::Units;
use crate::run::course::{Course, Halt, Taken};
use crate::run::judging::untrusted::Doubt;
use crate::run::steps::load_start;
use crate::run::steps::loads_measured;
use crate::run::steps::power::MEMORY;
use crate::script::plan::Measured;
use crate::wire::channel::{FEED_CURRENT, FEED_VOLTAGE};
use core::time::Duration;

/// Time between points, and the conversions averaged into each: the mean runs over many whole idle
/// packets.
const INTERVAL_US: u32 = 1_000;
const AVERAGE: u16 = 5;

pub fn measure(course: &mut Course<'_, '_>, what: Measured, window: Duration) -> Result<(), Halt> {
    match what {
        Measured::FeedVoltage => feed_voltage(course, window),
        Measured::IdleCurrent => idle_current(course, window),
        Measured::AuxiliaryCurrent => auxiliary_current(course, window),
        Measured::LoadVoltage => loads_measured::load_voltage(course, window),
        Measured::LoadTotal => loads_measured::load_total(course, window),
        Measured::LoadStart => load_start::load_start(course),
    }
}

/// Samples channels over a window.
pub fn sample(
    course: &mut Course<'_, '_>,
    scan: Vec<u16>,
    window: Duration,
) -> Result<Record, Halt> {
    let points = (micros(window) / u64::from(INTERVAL_US)).max(20) as u32;
    let setup = CaptureSetup {
        scan,
        interval_us: INTERVAL_US,
        points,
        pre_trigger: 0,
        average: AVERAGE,
        trigger: Trigger::Immediate,
    };
    course.arm(1, &Course::fit(setup, MEMORY))?;
    let began_us = course.jig.clock_us()?;
    course.fetch(1, began_us + u64::from(points) * u64::from(INTERVAL_US))
}

pub fn mean_of(record: &Record, channel: u16) -> Option<Mean> {
    record.trace(channel)?.mean(..)
}

fn feed_voltage(course: &mut Course<'_, '_>, window: Duration) -> Result<(), Halt> {
    let record = sample(course, vec![FEED_VOLTAGE], window)?;
    let class = course.class(FEED_VOLTAGE);
    let estimate = mean_of(&record, FEED_VOLTAGE).map(|m| m.estimate(&class));
    let limits = of_sheet(&course.plan.module, Quantity::FeedVoltage);
    let tripped = course.feed_tripped()?;
    let taken = Taken::new(Quantity::FeedVoltage, estimate, limits)
        .knowing(Facts { tripped, ..course.known.facts })
        .noting(if tripped { "the feed has tripped" } else { "" })
        .doubting(course.doubt(&record, FEED_VOLTAGE, &[], ..));
    let decided = course.read(taken)?;
    course.known.facts.feed_wrong = !tripped && decided == Verdict::Fail;
    Ok(())
}

/// Feed current over whole blinks of the lamp, and whether it may be trusted.
fn feed_current(
    course: &mut Course<'_, '_>,
    window: Duration,
) -> Result<(Option<BlinkingMean>, Option<Doubt>), Halt> {
    let record = sample(course, vec![FEED_CURRENT], window)?;
    // Averaging goes on within a count.
    let mean = record
        .trace(FEED_CURRENT)
        .and_then(|t| Some(BlinkingMean::of(&t.numbers(), 1.0 / f64::from(AVERAGE))?.on(&t.scale)));
    Ok((mean, course.doubt(&record, FEED_CURRENT, &[], ..)))
}

/// Tells a reading of the feed current that a trip has taken away.
fn missing(course: &mut Course<'_, '_>, quantity: Quantity) -> Result<(), Halt> {
    let facts = Facts { tripped: true, ..course.known.facts };
    let window = of_sheet(&course.plan.module, quantity);
    let taken = Taken::new(quantity, None, window).knowing(facts).noting("the feed has tripped");
    course.read(taken)?;
    Ok(())
}

fn idle_current(course: &mut Course<'_, '_>, window: Duration) -> Result<(), Halt> {
    let (mean, doubt) = feed_current(course, window)?;
    if course.feed_tripped()? {
        missing(course, Quantity::IdleCurrent)?;
        return match course.known.with_auxiliary.take() {
            Some(_) => missing(course, Quantity::AuxiliaryCurrent),
            None => Ok(()),
        };
    }
    let class = course.class(FEED_CURRENT);
    let limits = of_sheet(&course.plan.module, Quantity::IdleCurrent);
    let estimate = mean.map(|m| m.estimate(&class));
    course.known.idle = mean;
    course.known.idle_doubt = doubt;
    if let Some(e) = estimate {
        course.known.facts.draws_nothing = limits.lower.is_some_and(|l| e.value < 0.2 * l);
    }
    let mut facts = course.known.facts;
    facts.auxiliary_on = estimate.is_some_and(|e| holds_auxiliary(course, &e, &limits))
        && !rises(course, mean.as_ref());
    let taken = Taken::new(Quantity::IdleCurrent, estimate, limits).knowing(facts).doubting(doubt);
    course.read(taken.noting(open_note(mean.as_ref())))?;
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
    let (Some(with), Some(idle)) = (&course.known.with_auxiliary, idle) else { return false };
    let limits = of_sheet(&course.plan.module, Quantity::AuxiliaryCurrent);
    let rise = with.less(idle, &course.class(FEED_CURRENT)).value;
    rise > limits.lower.unwrap_or(0.0) / 2.0
}

fn auxiliary_current(course: &mut Course<'_, '_>, window: Duration) -> Result<(), Halt> {
    let (with, doubt) = feed_current(course, window)?;
    if course.feed_tripped()? {
        return missing(course, Quantity::AuxiliaryCurrent);
    }
    course.known.with_auxiliary = with;
    course.known.auxiliary_doubt = doubt;
    auxiliary_reading(course)
}

/// The rise by the auxiliary supply, once both currents are there.
fn auxiliary_reading(course: &mut Course<'_, '_>) -> Result<(), Halt> {
    let (Some(idle), Some(with)) = (course.known.idle, course.known.with_auxiliary) else {
        return Ok(());
    };
    course.known.with_auxiliary = None;
    let class = course.class(FEED_CURRENT);
    let estimate = with.less(&idle, &class);
    let limits = of_sheet(&course.plan.module, Quantity::AuxiliaryCurrent);
    let mut facts = course.known.facts;
    let idle_limits = of_sheet(&course.plan.module, Quantity::IdleCurrent);
    // On both times: the rise is missing because the idle current holds it already.
    let missing = limits.lower.is_some_and(|l| estimate.value < 0.2 * l);
    facts.auxiliary_on = missing && holds_auxiliary(course, &idle.estimate(&class), &idle_limits);
    facts.auxiliary_off = missing && !facts.auxiliary_on;
    // A rise is the difference of two readings: either may spoil it.
    let doubt = course.known.idle_doubt.or(course.known.auxiliary_doubt);
    let taken = Taken::new(Quantity::AuxiliaryCurrent, Some(estimate), limits)
        .knowing(facts)
        .doubting(doubt.map(|_| Doubt::PartBeyond));
    course.read(taken.noting(open_note(Some(&with))))?;
    Ok(())
}

fn open_note(mean: Option<&BlinkingMean>) -> &'static str {
    if mean.is_some_and(|m| m.open > 0.0) {
        "no whole blink of the lamp in the window: measure over a longer one"
    } else {
        ""
    }
}
