//! How the real loads start: each is switched on once, at rest, past the module, and watched.
//!
//! The bypass drives the load and the load's own switch closes onto a voltage that is there already,
//! so that no bounce of the module's contact and no rise of the supply comes into it.

use crate::judge::blame::{ClampFacts, Facts, PastModule};
use crate::judge::limits_from::LimitsFrom;
use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::link::capture::{CaptureSetup, Trigger};
use crate::link::client::micros;
use crate::load::Circuit;
use crate::load::jig::PATH_OHM;
use crate::load::start::{Limited, Start, start};
use crate::load::window_words::WindowParts;
use crate::load::{Fed, explained};
use crate::measure::record::Record;
use crate::measure::start::StartTrace;
use crate::measure::uncertainty::Estimate;
use crate::procedure::bench::MEASURED_OVER;
use crate::procedure::captures::FAST;
use crate::procedure::captures::fit;
use crate::procedure::error::trips;
use crate::procedure::orders;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::{Units, duration};
use crate::run::expected::compared;
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::search::short::find_short;
use crate::run::see::untrusted::Untrusted;
use crate::run::see::untrusted::beyond_range;
use crate::run::step_stop::StepStop;
use crate::script::plan::LoadChoice;
use crate::script::timing::{START_LEAD, rest_before, settle_at, start_at, start_watched};
use crate::signal::target::Clamp;
use crate::wire::channel::{BYPASS, CLAMP_CURRENT, CLAMP_VOLTAGE, LOAD_VOLTAGE};
use core::time::Duration;
use uom::si::f64::{ElectricPotential, Time};

/// The most points of a capture: a slow line must carry them too.
const POINTS_MAX: u64 = 2_000;

/// A window that is not so many times as wide as the interval of a reading is not judged: sound loads would
/// stay open (the ratio of ANSI/NCSL Z540.3, from memory).
const RATIO: f64 = 4.0;

const TRIPPED: &str = "the load supply has tripped";

/// The starts of all connected loads, one after the other.
pub fn load_start(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    let plan = run.plan;
    let Some(sheet) = plan.loads.as_ref().filter(|_| run.state.loads == LoadChoice::Real) else {
        return Ok(());
    };
    let clamps: Vec<Clamp> = run.state.loaded().collect();
    run.bench.load_supply_off()?;
    run.bench.open_loads()?;
    let cold_us = run.state.loads_off_since_us + micros(rest_before(Some(sheet), &clamps));
    run.bench.wait_until(cold_us)?;
    for clamp in clamps {
        let Some(planned) = start_at(sheet, clamp) else { continue };
        // All else that a start needs was looked for before the run.
        if !run.bench.has(clamp.channel(BYPASS)) {
            unseen(run, clamp, &planned)?;
        } else {
            one(run, clamp, &planned, duration(settle_at(Some(sheet), clamp)))?;
        }
    }
    run.close_loads()
}

/// The readings of a start that a jig without a bypass cannot see: the script asked for them.
fn unseen(run: &mut OngoingRun<'_, '_>, clamp: Clamp, planned: &Start) -> Result<(), StepStop> {
    let facts = Facts::without_channel();
    let note = format!("this jig has no bypass at {clamp}, so nobody saw this load start");
    for (quantity, limited) in quantities(planned) {
        let draft = ReadingDraft::new(quantity, None, limited.unwrap_or(Window::OPEN)).at(clamp);
        let draft = ReadingDraft { undecided: true, ..draft.knowing(facts) };
        run.read(draft.noting(note.clone()))?;
    }
    Ok(())
}

/// What was seen of one start.
struct Seen {
    record: Record,
    /// The current before, amperes.
    zero: f64,
    /// The settled current above that, amperes.
    settled: f64,
    past_module: PastModule,
    /// How long no load had been on, and must have been at least.
    rested: Duration,
    rest: Duration,
}

fn one(
    run: &mut OngoingRun<'_, '_>,
    clamp: Clamp,
    planned: &Start,
    settle: Duration,
) -> Result<(), StepStop> {
    let rested = run.bench.clock_us()?.saturating_sub(run.state.loads_off_since_us);
    let rested = Duration::from_micros(rested);
    let Some(seen) = watch(run, clamp, planned, settle, rested)? else {
        let short = ClampFacts { past_module: PastModule::High, ..ClampFacts::default() };
        let facts = Facts::from(run.state.facts).at(short).tripping(true);
        for (quantity, limited) in quantities(planned) {
            let window = limited.unwrap_or(Window::OPEN);
            run.read(
                ReadingDraft::new(quantity, None, window).at(clamp).knowing(facts).noting(TRIPPED),
            )?;
        }
        return find_short(run);
    };
    read(run, clamp, &seen)
}

/// The quantities that a start has, with what limits them before anything is known of the voltage.
fn quantities(start: &Start) -> Vec<(Quantity, Option<Window>)> {
    let mut all = Vec::new();
    if let Some(peak) = start.peak {
        all.push((Quantity::InrushCurrent, window_of(&peak)));
    }
    if let Some(decay) = start.decay {
        all.push((Quantity::InrushDecay, window_of(&decay)));
    }
    if let Some(rise) = start.rise {
        all.push((Quantity::RiseTime, window_of(&rise)));
    }
    all
}

fn window_of<Q: Units>(limited: &Limited<Q>) -> Option<Window> {
    let value = &limited.value;
    limited.stated.then(|| Window::between(value.lower.si(), value.upper.si()))
}

/// Switches one load on and watches it. `None`: the load supply trips.
fn watch(
    run: &mut OngoingRun<'_, '_>,
    clamp: Clamp,
    planned: &Start,
    settle: Duration,
    rested: Duration,
) -> Result<Option<Seen>, StepStop> {
    let [current, bypass, voltage] =
        [CLAMP_CURRENT, BYPASS, CLAMP_VOLTAGE].map(|first| clamp.channel(first));
    let load = run.load_switch(clamp);
    if trips(run.bench.send(&(orders::close(&[bypass]), orders::LOADS_ON)))? {
        return Ok(None);
    }
    run.bench.pause(START_LEAD)?;
    let said =
        run.bench.channel_readings(&orders::currents(&[current]), &[current], MEASURED_OVER)?;
    let zero = run.channels().corrected(current, said[0]);

    let fastest = run.channels().get(current).map_or(1, |d| u64::from(d.interval_us.max(1)));
    let watched_us = micros(start_watched(planned));
    let interval = fastest * watched_us.div_ceil(POINTS_MAX * fastest).max(1);
    let setup = CaptureSetup {
        scan: vec![current, LOAD_VOLTAGE],
        interval_us: interval as u32,
        points: (watched_us / interval).max(20) as u32,
        pre_trigger: 0,
        average: 1,
        trigger: Trigger::Immediate,
    };
    let setup = fit(setup, FAST);
    let span_us = u64::from(setup.points) * u64::from(setup.interval_us);
    // In one line: however late it comes, the capture sees all that follows.
    let close = [load];
    let refused = trips(run.bench.jig.capture_with(FAST, &setup, &orders::close(&close)))?;
    let begun_us = run.bench.clock_us()?;
    let record = run.fetch(FAST, begun_us + span_us)?;
    let mut has_tripped = refused || run.bench.trips()?.loads;
    let mut said = Vec::new();
    if !has_tripped {
        run.bench.pause(settle)?;
        let mut voltages = vec![LOAD_VOLTAGE];
        voltages.extend(Some(voltage).filter(|&c| run.bench.has(c)));
        let (current_only, voltages) = ([current], &voltages[..]);
        let request = (orders::currents(&current_only), orders::voltages(voltages));
        let read = [&[current][..], voltages].concat();
        said = run.bench.channel_readings(&request, &read, 2 * MEASURED_OVER)?;
        has_tripped = run.bench.trips()?.loads;
    }
    run.bench.send(&(orders::open(&[bypass, load]), orders::LOADS_OFF))?;
    if has_tripped {
        return Ok(None);
    }
    let settled = run.channels().corrected(current, said[0]) - zero;
    // By their classes the two voltages may differ by so much though nothing is lost on the way.
    let apart: f64 = [LOAD_VOLTAGE, voltage]
        .map(|channel| run.class(channel))
        .iter()
        .map(|c| c.offset + c.gain * said[1] + c.linearity + c.resolution)
        .sum();
    let way = PATH_OHM * settled.max(0.0) + apart;
    let is_there = said.get(2).is_none_or(|&at_clamp| said[1] - at_clamp < way);
    Ok(Some(Seen {
        record,
        zero,
        settled,
        past_module: if is_there { PastModule::Low } else { PastModule::NoVoltage },
        rested,
        rest: duration(planned.rest),
    }))
}

fn read(run: &mut OngoingRun<'_, '_>, clamp: Clamp, seen: &Seen) -> Result<(), StepStop> {
    let channel = clamp.channel(CLAMP_CURRENT);
    let (Some(circuit), Some(trace)) = (run.circuit(clamp), seen.record.trace(channel)) else {
        return Ok(());
    };
    let supply = seen.record.trace(LOAD_VOLTAGE).and_then(|t| Some(t.mean(..)?.estimate(&t.class)));
    let Some(supply) = supply else { return Ok(()) };
    let at = |volt: f64| start(&circuit, &fed(volt));
    let Some(due) = at(supply.value) else { return Ok(()) };
    let interval_s = f64::from(seen.record.interval_us) * 1e-6;
    let shown = StartTrace {
        values: &trace.counts,
        scale: trace.scale,
        interval_s,
        // The order that begins the capture switches the load on as well: the first scan comes within an
        // interval, and the channel's own conversion that much later.
        before_s: interval_s + trace.skew_us * 1e-6,
        zero: seen.zero,
        settled: seen.settled,
        class: trace.class,
    };
    let beside = [-supply.standard, supply.standard].map(|by| at(supply.value + by));
    let judging = Judging {
        clamp,
        seen,
        untrusted: beyond_range(&seen.record, channel, &[LOAD_VOLTAGE], ..),
    };
    if let Some(peak) = due.peak {
        let found = shown.peak();
        let by = moved(&peak, beside.iter().flatten().filter_map(|s| s.peak));
        let estimate = found.map(|f| compared(f.current, by));
        let limits_from = first_instant(&circuit, supply.value);
        let quantity = Quantity::InrushCurrent;
        judging.read(run, Found { quantity, estimate, resolved: true, limits_from }, &peak)?;
        if let Some(decay) = due.decay
            && let Some(found) = found
        {
            let by = moved(&decay, beside.iter().flatten().filter_map(|s| s.decay));
            let estimate = found.decay.map(|d| compared(d, by));
            let limits_from = Some(LimitsFrom::LoadTime { supply_v: supply.value });
            let resolved = found.resolved || found.decay.is_none();
            let quantity = Quantity::InrushDecay;
            judging.read(run, Found { quantity, estimate, resolved, limits_from }, &decay)?;
        }
    }
    if let Some(rise) = due.rise {
        let found = shown.rise();
        let limits_from = Some(LimitsFrom::CoilTime);
        let resolved = found.is_none_or(|(_, resolved)| resolved);
        let estimate = found.map(|(rise, _)| rise);
        let quantity = Quantity::RiseTime;
        judging.read(run, Found { quantity, estimate, resolved, limits_from }, &rise)?;
    }
    Ok(())
}

fn fed(volt: f64) -> Fed {
    let volt = ElectricPotential::from_si(volt.max(0.0));
    Fed::behind(Toleranced { nominal: volt, lower: volt, upper: volt }, PATH_OHM)
}

/// How far the ends of a window move with the voltage's uncertainty.
fn moved<Q: Units>(due: &Limited<Q>, beside: impl Iterator<Item = Limited<Q>>) -> f64 {
    let ends = |l: &Limited<Q>| [l.value.lower.si(), l.value.upper.si()];
    let due = ends(due);
    beside
        .flat_map(|l| ends(&l).into_iter().zip(due).map(|(a, b)| (a - b).abs()).collect::<Vec<_>>())
        .fold(0.0, f64::max)
}

/// Where the window of a first current comes from.
fn first_instant(circuit: &Circuit, volt: f64) -> Option<LimitsFrom> {
    let window = WindowParts::of(&explained(circuit, &fed(volt), Time::from_si(0.0)))?;
    let not_quite_cold = start(circuit, &fed(volt)).map_or(0.0, |start| start.short_of);
    Some(LimitsFrom::FirstInstant { window, not_quite_cold })
}

/// One reading, before it is judged.
struct Found {
    quantity: Quantity,
    estimate: Option<Estimate>,
    /// Whether the time between samples resolves it.
    resolved: bool,
    /// Where its window comes from.
    limits_from: Option<LimitsFrom>,
}

/// What the readings of one start share.
struct Judging<'s> {
    clamp: Clamp,
    seen: &'s Seen,
    untrusted: Option<Untrusted>,
}

impl Judging<'_> {
    fn read<Q: Units>(
        &self,
        run: &mut OngoingRun<'_, '_>,
        found: Found,
        due: &Limited<Q>,
    ) -> Result<(), StepStop> {
        let Found { quantity, estimate, resolved, limits_from } = found;
        let past_module = self.seen.past_module;
        let clamp = ClampFacts { past_module, ..ClampFacts::default() };
        let facts = Facts::from(run.state.facts).at(clamp);
        let window = Window::between(due.value.lower.si(), due.value.upper.si());
        let why_not = self.why_not_judged(estimate.as_ref(), due, resolved);
        let mut draft = ReadingDraft::new(quantity, estimate, window).at(self.clamp).knowing(facts);
        draft = draft.untrusted(self.untrusted.filter(|_| estimate.is_some()));
        draft = match why_not {
            // Nothing is held against a reading that tells nothing.
            Some(why) if estimate.is_some() => {
                ReadingDraft { window: Window::OPEN, ..draft }.noting(format!("not judged: {why}"))
            }
            _ if estimate.is_none() && quantity == Quantity::InrushDecay => {
                ReadingDraft { undecided: true, ..draft }
                    .noting("not half gone while it was watched")
            }
            _ if estimate.is_none() => draft.noting("no current"),
            _ => draft.limited_by(limits_from),
        };
        run.read(draft)?;
        Ok(())
    }

    fn why_not_judged<Q: Units>(
        &self,
        estimate: Option<&Estimate>,
        due: &Limited<Q>,
        resolved: bool,
    ) -> Option<String> {
        let [rested, rest] = [self.seen.rested, self.seen.rest].map(|t| t.as_secs_f64());
        let width = due.value.upper.si() - due.value.lower.si();
        if !due.stated {
            Some("the load sheet states no tolerance for it".into())
        } else if micros(self.seen.rested) < micros(self.seen.rest) {
            Some(format!(
                "the load was off for {rested:.1} s only, and is at rest after {rest:.1} s"
            ))
        } else if !resolved || estimate.is_some_and(|e| RATIO * 2.0 * e.expanded() > width) {
            Some(format!(
                "too fast for this jig, which samples every {} us",
                self.seen.record.interval_us
            ))
        } else {
            None
        }
    }
}
