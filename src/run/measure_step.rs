//! A quantity over a window: feed voltage, idle and auxiliary current, load voltage and total.

use super::course::{Course, Halt, Taken, micros};
use super::diagnose::{find_short, look_past_module};
use super::expected::Expected;
use super::known::Feed;
use super::power::{MEMORY, load_supply_on};
use crate::judge::blame::{Facts, PastModule};
use crate::judge::expect::of_sheet;
use crate::judge::reading::{Quantity, Verdict};
use crate::judge::verdict::{Window, verdict};
use crate::link::capture::{CaptureSetup, Trigger};
use crate::load::jig_loads;
use crate::measure::blinking::BlinkingMean;
use crate::measure::mean::Mean;
use crate::measure::record::Record;
use crate::measure::uncertainty::Estimate;
use crate::quantity::unit::Units;
use crate::script::plan::{LoadChoice, Measured};
use crate::script::timing::slowest;
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, FEED_VOLTAGE, LOAD_TOTAL, LOAD_VOLTAGE};
use core::time::Duration;

/// Time between points, and the conversions averaged into each: the mean runs over many whole idle
/// packets.
const INTERVAL_US: u32 = 1_000;
const AVERAGE: u16 = 5;

/// The load supply settles for so long before it is measured.
const SETTLE: Duration = Duration::from_millis(30);

pub(super) fn measure(
    course: &mut Course<'_, '_>,
    what: Measured,
    window: Duration,
) -> Result<(), Halt> {
    match what {
        Measured::FeedVoltage => feed_voltage(course, window),
        Measured::IdleCurrent => idle_current(course, window),
        Measured::AuxiliaryCurrent => auxiliary_current(course, window),
        Measured::LoadVoltage => load_voltage(course, window),
        Measured::LoadTotal => load_total(course, window),
    }
}

/// Samples channels over a window.
fn sample(course: &mut Course<'_, '_>, scan: Vec<u16>, window: Duration) -> Result<Record, Halt> {
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

fn mean_of(record: &Record, channel: u16) -> Option<Mean> {
    Mean::of(&record.trace(channel)?.values)
}

fn feed_voltage(course: &mut Course<'_, '_>, window: Duration) -> Result<(), Halt> {
    let record = sample(course, vec![FEED_VOLTAGE], window)?;
    let class = course.class(FEED_VOLTAGE);
    let estimate = mean_of(&record, FEED_VOLTAGE).map(|m| m.estimate(&class));
    let limits = of_sheet(&course.plan.module, Quantity::FeedVoltage);
    let tripped = course.known.feed == Feed::Tripped;
    let taken = Taken::new(Quantity::FeedVoltage, estimate, limits)
        .knowing(Facts { tripped, ..course.known.facts })
        .noting(if tripped { "the feed has tripped" } else { "" });
    course.read(taken)?;
    Ok(())
}

/// Feed current over whole blinks of the lamp.
fn feed_current(
    course: &mut Course<'_, '_>,
    window: Duration,
) -> Result<Option<BlinkingMean>, Halt> {
    let record = sample(course, vec![FEED_CURRENT], window)?;
    Ok(record
        .trace(FEED_CURRENT)
        .and_then(|t| BlinkingMean::of(&t.values, t.class.resolution / f64::from(AVERAGE))))
}

fn idle_current(course: &mut Course<'_, '_>, window: Duration) -> Result<(), Halt> {
    let mean = feed_current(course, window)?;
    let class = course.class(FEED_CURRENT);
    let limits = of_sheet(&course.plan.module, Quantity::IdleCurrent);
    let estimate = mean.map(|m| m.estimate(&class));
    course.known.idle = mean;
    if let Some(e) = estimate {
        course.known.facts.draws_nothing = limits.lower.is_some_and(|l| e.value < 0.2 * l);
    }
    let mut facts = course.known.facts;
    facts.auxiliary_on = estimate.is_some_and(|e| holds_auxiliary(course, &e, &limits))
        && !rises(course, mean.as_ref());
    let taken = Taken::new(Quantity::IdleCurrent, estimate, limits).knowing(facts);
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
    course.known.with_auxiliary = feed_current(course, window)?;
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
    let taken = Taken::new(Quantity::AuxiliaryCurrent, Some(estimate), limits).knowing(facts);
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

/// The limits of the load supply, by the loads that are connected.
fn supply_limits(course: &Course<'_, '_>) -> Window {
    let supply = match course.known.loads {
        LoadChoice::Real => course.plan.loads.as_ref().map(|sheet| sheet.supply),
        LoadChoice::Jig | LoadChoice::None => Some(jig_loads().supply),
    };
    supply.map_or(Window::OPEN, |s| Window::between(s.lower.si(), s.upper.si()))
}

/// Samples with the load supply on.
fn sample_loads(
    course: &mut Course<'_, '_>,
    scan: Vec<u16>,
    window: Duration,
) -> Result<(Record, bool), Halt> {
    let is_on = load_supply_on(course)?;
    let real = course.plan.loads.as_ref().filter(|_| course.known.loads == LoadChoice::Real);
    let connected: Vec<Clamp> = course.known.loaded().collect();
    let slowest = slowest(real, &connected);
    course.pause(SETTLE + slowest)?;
    let record = sample(course, scan, window)?;
    let tripped = course.jig.trips()?.loads;
    course.jig.send("OUTP2 OFF")?;
    Ok((record, !is_on || tripped))
}

fn load_voltage(course: &mut Course<'_, '_>, window: Duration) -> Result<(), Halt> {
    let (mut record, mut tripped) = sample_loads(course, vec![LOAD_VOLTAGE], window)?;
    let mut note = "";
    if tripped {
        // Once more without the loads that are shorts; these fail where they are measured.
        find_short(course)?;
        (record, tripped) = sample_loads(course, vec![LOAD_VOLTAGE], window)?;
        note = if tripped {
            "the load supply trips whatever is connected"
        } else {
            "the load supply has tripped before: a load is a short and was disconnected"
        };
    }
    let class = course.class(LOAD_VOLTAGE);
    let estimate = mean_of(&record, LOAD_VOLTAGE).map(|m| m.estimate(&class)).filter(|_| !tripped);
    let facts = Facts { tripped, ..course.known.facts };
    let taken = Taken::new(Quantity::LoadVoltage, estimate, supply_limits(course));
    let verdict = course.read(taken.knowing(facts).noting(note))?;
    course.known.facts.supply_wrong = verdict == Verdict::Fail && !tripped;
    Ok(())
}

/// The limit of the total where every load must be off: half of what the smallest of them draws.
fn none_on(course: &Course<'_, '_>, supply: Estimate) -> Window {
    let expected = course.known.loaded().filter_map(|c| course.expected(c, supply));
    let smallest = expected.map(|e| e.lower()).fold(f64::INFINITY, f64::min);
    Window { lower: None, upper: Some(0.5 * smallest).filter(|a| a.is_finite()) }
}

/// The total against the sum of what the loads must draw where the outputs were told to go (where
/// they stand, when they were never told).
fn load_total(course: &mut Course<'_, '_>, window: Duration) -> Result<(), Halt> {
    let mut scan = vec![LOAD_VOLTAGE, LOAD_TOTAL];
    scan.extend(course.loaded_channels());
    let (record, tripped) = sample_loads(course, scan, window)?;
    if tripped {
        find_short(course)?;
    }
    let class = course.class(LOAD_TOTAL);
    let total = mean_of(&record, LOAD_TOTAL).map(|m| m.estimate(&class));
    let supply = course.supply_in(&record, 0).filter(|_| !tripped);
    let must_be_at = |course: &Course<'_, '_>, clamp: Clamp| {
        course.known.ordered[usize::from(clamp.output) - 1].or(course.position(clamp.output))
    };
    let on: Vec<Clamp> = Clamp::ALL
        .into_iter()
        .filter(|&c| course.known.connected[c.index()] && must_be_at(course, c) == Some(c.position))
        .collect();
    let short = on.iter().find(|c| course.known.shorted[c.index()]);

    let mut limits = Window::OPEN;
    let mut estimate = None;
    let mut note = format!("{} loads on", on.len());
    if let Some(supply) = supply {
        let windows: Vec<Expected> =
            on.iter().filter_map(|&c| course.expected(c, supply)).collect();
        limits = if on.is_empty() {
            none_on(course, supply)
        } else {
            Window::between(
                windows.iter().filter_map(|e| e.window.lower).sum(),
                windows.iter().filter_map(|e| e.window.upper).sum(),
            )
        };
        let by_voltage: f64 = windows.iter().map(|e| e.by_voltage).sum();
        estimate = total.map(|t| Expected { window: limits, by_voltage }.compared(t));
    }
    if tripped {
        note = "the load supply has tripped".into();
    }
    if let Some(short) = short {
        (estimate, note) = (None, format!("the load at clamp {short} is a short"));
    }
    let mut facts =
        Facts { tripped, jig_loads: course.known.loads == LoadChoice::Jig, ..course.known.facts };
    facts.past_module = match supply {
        Some(supply) => worst_past_module(course, &record, &on, supply)?,
        None if short.is_some() => PastModule::High,
        None => PastModule::Unknown,
    };
    let taken = Taken::new(Quantity::LoadTotal, estimate, limits).knowing(facts).noting(note);
    course.read(taken)?;
    Ok(())
}

/// Looks past the module at every load that must be on and does not draw what it must.
fn worst_past_module(
    course: &mut Course<'_, '_>,
    record: &Record,
    on: &[Clamp],
    supply: Estimate,
) -> Result<PastModule, Halt> {
    let mut worst = PastModule::Unknown;
    for &clamp in on {
        let channel = clamp.channel(CLAMP_CURRENT);
        let Some(mean) = mean_of(record, channel) else { continue };
        let Some(expected) = course.expected(clamp, supply) else { continue };
        let current = expected.compared(mean.estimate(&course.class(channel)));
        if verdict(Some(&current), &expected.window, course.plan.rule) == Verdict::Pass {
            continue;
        }
        if course.known.past_module[clamp.index()] == PastModule::Unknown {
            look_past_module(course, clamp, None)?;
        }
        let seen = course.known.past_module[clamp.index()];
        if !matches!(worst, PastModule::Low | PastModule::High | PastModule::NoVoltage) {
            worst = seen;
        }
    }
    Ok(worst)
}
