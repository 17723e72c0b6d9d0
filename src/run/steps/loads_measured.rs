//! Voltage and currents of the load supply over a window.

use crate::judge::blame::{ClampFacts, Facts, PastModule};
use crate::judge::limits_from::LimitsFrom;
use crate::judge::reading::{Quantity, Verdict};
use crate::judge::verdict::{Window, verdict};
use crate::load::jig_loads;
use crate::measure::mean::Mean;
use crate::measure::record::Record;
use crate::measure::uncertainty::Estimate;
use crate::procedure::bench::MEASURED_OVER;
use crate::procedure::orders;
use crate::quantity::unit::Units;
use crate::run::expected::{COULD_BE_NOTHING, Expected, TOO_CLOSE, compared, is_too_close};
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::search::bypass::look_past_module;
use crate::run::search::short::find_short;
use crate::run::see::standing::supply_in;
use crate::run::see::untrusted::beyond_range;
use crate::run::step_stop::StepStop;
use crate::script::plan::LoadChoice;
use crate::script::timing::slowest;
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, LOAD_TOTAL, LOAD_VOLTAGE};
use core::time::Duration;

/// The load supply settles for so long before it is measured.
const SETTLE: Duration = Duration::from_millis(30);

/// The limits of the load supply, by the loads that are connected.
fn supply_limits(run: &OngoingRun<'_, '_>) -> Window {
    let supply = match run.state.loads {
        LoadChoice::Real => run.plan.loads.as_ref().map(|sheet| sheet.supply),
        LoadChoice::Jig | LoadChoice::None => Some(jig_loads().supply),
    };
    supply.map_or(Window::OPEN, |s| Window::between(s.lower.si(), s.upper.si()))
}

/// Where these limits come from.
fn supply_from(run: &OngoingRun<'_, '_>) -> LimitsFrom {
    match run.state.loads {
        LoadChoice::Real => LimitsFrom::LoadSupply,
        LoadChoice::Jig | LoadChoice::None => LimitsFrom::JigLoadSupply,
    }
}

/// What was sampled with the load supply on.
struct Loaded {
    record: Record,
    /// The same current channels without any load, one value a channel.
    zero: Vec<(u16, f64)>,
    tripped: bool,
}

impl Loaded {
    /// The mean of a channel above that without any current: the channel's offset falls out.
    fn above_zero(&self, channel: u16) -> Option<Estimate> {
        let trace = self.record.trace(channel)?;
        let mean = trace.mean(..)?;
        let zero = self.zero.iter().find(|(c, _)| *c == channel);
        Some(match zero {
            // The jig's own mean says nothing of its noise; it is that of the same channel.
            Some(&(_, value)) => mean.less(&Mean { value, drift: 0.0, ..mean }, &trace.class),
            None => mean.estimate(&trace.class),
        })
    }
}

/// Samples with the load supply on.
fn sample_loads(
    run: &mut OngoingRun<'_, '_>,
    scan: Vec<u16>,
    window: Duration,
) -> Result<Loaded, StepStop> {
    let currents: Vec<u16> = scan.iter().copied().filter(|&c| c != LOAD_VOLTAGE).collect();
    let mut zero = Vec::new();
    if !currents.is_empty() {
        // The loads are disconnected: a motor that still turns would feed the others.
        run.bench.open_loads()?;
        let values =
            run.bench.channel_readings(&orders::currents(&currents), &currents, MEASURED_OVER)?;
        let channels = run.channels();
        let corrected = currents.into_iter().zip(values);
        zero = corrected.map(|(c, value)| (c, channels.corrected(c, value))).collect();
        run.close_loads()?;
    }
    let is_on = run.load_supply_on()?;
    let real = run.plan.loads.as_ref().filter(|_| run.state.loads == LoadChoice::Real);
    let connected: Vec<Clamp> = run.state.loaded().collect();
    let slowest = slowest(real, &connected);
    run.bench.pause(SETTLE + slowest)?;
    let record = run.sample(scan, window)?;
    let tripped = !is_on || run.bench.trips()?.loads;
    run.bench.load_supply_off()?;
    Ok(Loaded { record, zero, tripped })
}

/// The load supply's voltage, against the loads that are connected.
pub fn load_voltage(run: &mut OngoingRun<'_, '_>, window: Duration) -> Result<(), StepStop> {
    let mut loaded = sample_loads(run, vec![LOAD_VOLTAGE], window)?;
    let mut note = "";
    if loaded.tripped {
        // Once more without the loads that are shorts; these fail where they are measured.
        find_short(run)?;
        loaded = sample_loads(run, vec![LOAD_VOLTAGE], window)?;
        note = if loaded.tripped {
            "the load supply trips whatever is connected"
        } else {
            "the load supply has tripped before: a load is a short and was disconnected"
        };
    }
    let Loaded { record, tripped, .. } = loaded;
    let class = run.class(LOAD_VOLTAGE);
    let estimate = record
        .trace(LOAD_VOLTAGE)
        .and_then(|t| t.mean(..))
        .map(|m| m.estimate(&class))
        .filter(|_| !tripped);
    let facts = Facts::from(run.state.facts).losing_loads(tripped);
    let untrusted = estimate.and_then(|_| beyond_range(&record, LOAD_VOLTAGE, &[], ..));
    let draft = ReadingDraft::new(Quantity::LoadVoltage, estimate, supply_limits(run))
        .limited_by(Some(supply_from(run)))
        .untrusted(untrusted);
    let verdict = run.read(draft.knowing(facts).noting(note))?;
    run.state.facts.supply_wrong = verdict == Verdict::Fail && !tripped;
    Ok(())
}

/// The limit of the total where every load must be off: half of what the smallest of them draws.
fn none_on(run: &OngoingRun<'_, '_>, supply: Estimate) -> Window {
    let expected = run.state.loaded().filter_map(|c| run.expected(c, supply));
    let told = expected.map(|e| e.lower()).filter(|&lower| run.is_told(LOAD_TOTAL, lower));
    let smallest = told.fold(f64::INFINITY, f64::min);
    Window { lower: None, upper: Some(0.5 * smallest).filter(|a| a.is_finite()) }
}

/// The total against the sum of what the loads must draw where the outputs were told to go (where
/// they stand, when they were never told).
pub fn load_total(run: &mut OngoingRun<'_, '_>, window: Duration) -> Result<(), StepStop> {
    let mut scan = vec![LOAD_VOLTAGE, LOAD_TOTAL];
    scan.extend(run.loaded_channels());
    let loaded = sample_loads(run, scan, window)?;
    let tripped = loaded.tripped;
    if tripped {
        find_short(run)?;
    }
    let total = loaded.above_zero(LOAD_TOTAL);
    let supply = supply_in(&loaded.record, 0).filter(|_| !tripped);
    let must_be_at = |run: &OngoingRun<'_, '_>, clamp: Clamp| {
        run.state.ordered[usize::from(clamp.output) - 1].or(run.position(clamp.output))
    };
    let on: Vec<Clamp> = Clamp::ALL
        .into_iter()
        .filter(|&c| run.state.connected[c.index()] && must_be_at(run, c) == Some(c.position))
        .collect();
    let short = on.iter().find(|c| run.state.shorted[c.index()]);

    let mut limits = Window::OPEN;
    let mut estimate = None;
    let mut note = format!("{} loads on", on.len());
    if let Some(supply) = supply {
        let windows: Vec<Expected> = on.iter().filter_map(|&c| run.expected(c, supply)).collect();
        limits = if on.is_empty() {
            none_on(run, supply)
        } else {
            Window::between(
                windows.iter().filter_map(|e| e.window.lower).sum(),
                windows.iter().filter_map(|e| e.window.upper).sum(),
            )
        };
        if limits.lower.is_some_and(|lower| !run.is_told(LOAD_TOTAL, lower)) {
            (limits, note) = (Window::OPEN, format!("{note}; {COULD_BE_NOTHING}"));
        }
        let by_voltage: f64 = windows.iter().map(|e| e.by_voltage).sum();
        estimate = total.map(|t| compared(t, by_voltage));
        if estimate.is_some_and(|total| is_too_close(&limits, &total, run.plan.rule)) {
            (limits, note) = (Window::OPEN, format!("{note}; {TOO_CLOSE}"));
        }
    }
    if tripped {
        note = "the load supply has tripped".into();
    }
    if let Some(short) = short {
        (estimate, note) = (None, format!("the load at clamp {short} is a short"));
    }
    let jig_load = run.state.loads == LoadChoice::Jig;
    let mut loads = Vec::new();
    if let Some(supply) = supply {
        loads = single_loads(run, &loaded, &on, supply)?;
    }
    // The total is as wrong as the worst of its loads.
    let worst = loads.iter().map(|draft| draft.facts.clamp.past_module).find(|p| !p.is_right());
    let past_module = match (short, worst) {
        (Some(_), _) => PastModule::High,
        (None, worst) => worst.unwrap_or_default(),
    };
    let all = ClampFacts { jig_load, past_module, ..ClampFacts::default() };
    let facts = Facts::from(run.state.facts).at(all).losing_loads(tripped);
    let untrusted =
        estimate.and_then(|_| beyond_range(&loaded.record, LOAD_TOTAL, &[LOAD_VOLTAGE], ..));
    let draft = ReadingDraft::new(Quantity::LoadTotal, estimate, limits)
        .limited_by(Some(LimitsFrom::LoadsOn { loads: on.len() }))
        .knowing(facts)
        .noting(note)
        .untrusted(untrusted);
    run.read(draft)?;
    for draft in loads {
        run.read(draft)?;
    }
    Ok(())
}

/// The current of every load that must be on, where the jig has a channel for it; looks past the
/// module at those that do not draw what they must.
fn single_loads(
    run: &mut OngoingRun<'_, '_>,
    loaded: &Loaded,
    on: &[Clamp],
    supply: Estimate,
) -> Result<Vec<ReadingDraft>, StepStop> {
    let mut readings = Vec::new();
    for &clamp in on {
        let Some(current) = loaded.above_zero(clamp.channel(CLAMP_CURRENT)) else { continue };
        let Some(expected) = run.expected(clamp, supply) else { continue };
        let current = expected.compared(current);
        if !run.tells_by_current(clamp) {
            let draft = ReadingDraft::new(Quantity::LoadCurrent, Some(current), Window::OPEN);
            readings.push(draft.at(clamp).noting(COULD_BE_NOTHING));
            continue;
        }
        if expected.is_too_close(&current, run.plan.rule) {
            let draft = ReadingDraft::new(Quantity::LoadCurrent, Some(current), Window::OPEN);
            readings.push(draft.at(clamp).noting(TOO_CLOSE));
            continue;
        }
        let passes = verdict(Some(&current), &expected.window, run.plan.rule) == Verdict::Pass;
        if !passes && run.state.past_module[clamp.index()] == PastModule::Unknown {
            look_past_module(run, clamp, None)?;
        }
        let past_module = run.state.past_module[clamp.index()];
        let jig_load = run.state.loads == LoadChoice::Jig;
        let of_clamp = ClampFacts { past_module, jig_load, ..ClampFacts::default() };
        let facts = Facts::from(run.state.facts).at(of_clamp);
        let channel = clamp.channel(CLAMP_CURRENT);
        let untrusted = beyond_range(&loaded.record, channel, &[LOAD_VOLTAGE], ..);
        let draft = ReadingDraft::new(Quantity::LoadCurrent, Some(current), expected.window)
            .untrusted(untrusted);
        readings.push(draft.at(clamp).knowing(facts).limited_by(expected.limits_from()));
    }
    Ok(readings)
}
