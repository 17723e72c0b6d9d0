//! A quantity over a window: feed voltage, idle and auxiliary current (for the loads see
//! `loads_measured`).

use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::{Quantity, Verdict};
use crate::judge::verdict::Window;
use crate::measure::blinking::BlinkingMean;
use crate::measure::rounding::conversion_noise;
use crate::measure::uncertainty::Estimate;
use crate::procedure::captures::STEADY_AVERAGE;
use crate::quantity::unit::Units;
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
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
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        measure(run, self.what, self.window)
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
    run: &mut OngoingRun<'_, '_>,
    what: Measured,
    window: Duration,
) -> Result<(), StepStop> {
    match what {
        Measured::FeedVoltage => feed_voltage(run, window),
        Measured::IdleCurrent => idle_current(run, window),
        Measured::AuxiliaryCurrent => auxiliary_current(run, window),
        Measured::LoadVoltage => loads_measured::load_voltage(run, window),
        Measured::LoadTotal => loads_measured::load_total(run, window),
        Measured::LoadStart => load_start::load_start(run),
    }
}

fn feed_voltage(run: &mut OngoingRun<'_, '_>, window: Duration) -> Result<(), StepStop> {
    let record = run.sample(vec![FEED_VOLTAGE], window)?;
    let class = run.class(FEED_VOLTAGE);
    let estimate = record.trace(FEED_VOLTAGE).and_then(|t| t.mean(..)).map(|m| m.estimate(&class));
    let limits = of_sheet(&run.plan.module, Quantity::FeedVoltage);
    let tripped = run.feed_tripped()?;
    let draft = ReadingDraft::new(Quantity::FeedVoltage, estimate, limits)
        .knowing(Facts::from(run.state.facts).tripping(tripped))
        .noting(if tripped { "the feed has tripped" } else { "" })
        .untrusted(beyond_range(&record, FEED_VOLTAGE, &[], ..));
    let decided = run.read(draft)?;
    run.state.facts.feed_wrong = !tripped && decided == Verdict::Fail;
    Ok(())
}

/// Feed current over whole blinks of the lamp, and whether it may be trusted.
fn feed_current(
    run: &mut OngoingRun<'_, '_>,
    window: Duration,
) -> Result<(Option<BlinkingMean>, Option<Untrusted>), StepStop> {
    let record = run.sample(vec![FEED_CURRENT], window)?;
    // Averaging goes on within a count.
    let within = 1.0 / f64::from(STEADY_AVERAGE);
    let mean = record
        .trace(FEED_CURRENT)
        .and_then(|t| Some(BlinkingMean::of(&t.numbers(), within)?.on(&t.scale)));
    if let Some((mean, trace)) = mean.zip(record.trace(FEED_CURRENT)) {
        let scatter = mean.mean.deviation / trace.scale.difference(1.0);
        run.state.sees_feed_noise(conversion_noise(scatter, record.average));
    }
    Ok((mean, beyond_range(&record, FEED_CURRENT, &[], ..)))
}

/// Tells a reading of the feed current that a trip has draft away.
fn missing(run: &mut OngoingRun<'_, '_>, quantity: Quantity) -> Result<(), StepStop> {
    let facts = Facts::from(run.state.facts).tripping(true);
    let window = of_sheet(&run.plan.module, quantity);
    let draft =
        ReadingDraft::new(quantity, None, window).knowing(facts).noting("the feed has tripped");
    run.read(draft)?;
    Ok(())
}

fn idle_current(run: &mut OngoingRun<'_, '_>, window: Duration) -> Result<(), StepStop> {
    let (mean, untrusted) = feed_current(run, window)?;
    if run.feed_tripped()? {
        missing(run, Quantity::IdleCurrent)?;
        return match run.state.with_auxiliary.take() {
            Some(_) => missing(run, Quantity::AuxiliaryCurrent),
            None => Ok(()),
        };
    }
    let class = run.class(FEED_CURRENT);
    let limits = of_sheet(&run.plan.module, Quantity::IdleCurrent);
    let estimate = mean.map(|m| m.estimate(&class));
    run.state.idle = mean;
    run.state.idle_untrusted = untrusted;
    if let Some(e) = estimate {
        run.state.facts.draws_nothing = limits.lower.is_some_and(|l| e.value < 0.2 * l);
    }
    let mut facts = Facts::from(run.state.facts);
    facts.reading.auxiliary_on =
        estimate.is_some_and(|e| holds_auxiliary(run, &e, &limits)) && !rises(run, mean.as_ref());
    let draft = ReadingDraft::new(Quantity::IdleCurrent, estimate, limits)
        .knowing(facts)
        .untrusted(untrusted);
    run.read(draft.noting(open_note(mean.as_ref())))?;
    auxiliary_reading(run)
}

/// Whether the idle current is too high by about what the auxiliary supply draws.
fn holds_auxiliary(run: &OngoingRun<'_, '_>, idle: &Estimate, limits: &Window) -> bool {
    let Some(auxiliary) = &run.plan.module.auxiliary_current else { return false };
    let (Some(lower), Some(upper)) = (limits.lower, limits.upper) else { return false };
    let least = auxiliary.lower.map_or(0.0, Units::si);
    let most = auxiliary.upper.map_or(f64::INFINITY, Units::si);
    (lower + least..=upper + most).contains(&idle.value)
}

/// Whether the feed current has been seen to rise by the auxiliary supply, above this idle current:
/// then the idle current cannot hold it.
fn rises(run: &OngoingRun<'_, '_>, idle: Option<&BlinkingMean>) -> bool {
    let (Some(with), Some(idle)) = (&run.state.with_auxiliary, idle) else { return false };
    let limits = of_sheet(&run.plan.module, Quantity::AuxiliaryCurrent);
    let rise = with.less(idle, &run.class(FEED_CURRENT)).value;
    rise > limits.lower.unwrap_or(0.0) / 2.0
}

fn auxiliary_current(run: &mut OngoingRun<'_, '_>, window: Duration) -> Result<(), StepStop> {
    let (with, untrusted) = feed_current(run, window)?;
    if run.feed_tripped()? {
        return missing(run, Quantity::AuxiliaryCurrent);
    }
    run.state.with_auxiliary = with;
    run.state.auxiliary_untrusted = untrusted;
    auxiliary_reading(run)
}

/// The rise by the auxiliary supply, once both currents are there.
fn auxiliary_reading(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    let (Some(idle), Some(with)) = (run.state.idle, run.state.with_auxiliary) else {
        return Ok(());
    };
    run.state.with_auxiliary = None;
    let class = run.class(FEED_CURRENT);
    let estimate = with.less(&idle, &class);
    let limits = of_sheet(&run.plan.module, Quantity::AuxiliaryCurrent);
    let mut facts = Facts::from(run.state.facts);
    let idle_limits = of_sheet(&run.plan.module, Quantity::IdleCurrent);
    // On both times: the rise is missing because the idle current holds it already.
    let missing = limits.lower.is_some_and(|l| estimate.value < 0.2 * l);
    facts.reading.auxiliary_on =
        missing && holds_auxiliary(run, &idle.estimate(&class), &idle_limits);
    facts.reading.auxiliary_off = missing && !facts.reading.auxiliary_on;
    // A rise is the difference of two readings: either may spoil it.
    let untrusted = run.state.idle_untrusted.or(run.state.auxiliary_untrusted);
    let draft = ReadingDraft::new(Quantity::AuxiliaryCurrent, Some(estimate), limits)
        .knowing(facts)
        .untrusted(untrusted.map(|_| Untrusted::PartBeyond));
    run.read(draft.noting(open_note(Some(&with))))?;
    Ok(())
}

fn open_note(mean: Option<&BlinkingMean>) -> &'static str {
    if mean.is_some_and(|m| m.open > 0.0) {
        "no whole blink of the lamp in the window: measure over a longer one"
    } else {
        ""
    }
}
