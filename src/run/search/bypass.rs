//! A load's current past the module: is it the contact, the lead or the load?

use crate::judge::blame::PastModule;
use crate::load::settle_time;
use crate::measure::budget::Source;
use crate::measure::scale::End;
use crate::measure::uncertainty::{Component, Estimate};
use crate::procedure::bench::{MEASURED_OVER, SWITCHED};
use crate::procedure::orders;
use crate::quantity::unit::Units;
use crate::run::ongoing::OngoingRun;
use crate::run::search::short::find_short;
use crate::run::step_stop::StepStop;
use crate::signal::target::Clamp;
use crate::wire::channel::{BYPASS, CLAMP_CURRENT, CLAMP_VOLTAGE, LOAD_VOLTAGE};
use core::time::Duration;

/// The longest that a load is given to settle on the bypass.
const SETTLE_MAX: Duration = Duration::from_millis(500);
/// A drop of this share of the supply's voltage, without the module in the way, is lost in a lead.
const LOST_SHARE: f64 = 0.5;
/// From this current on, in amperes, the drop on the way tells a resistance.
const LOST_AT_A: f64 = 0.05;

/// The load's current past the module: the bypass drives the clamp's lead and the load. `off_volts`
/// is by how much the voltages of supply and clamp differ without current.
pub fn look_past_module(
    run: &mut OngoingRun<'_, '_>,
    clamp: Clamp,
    off_volts: Option<f64>,
) -> Result<(), StepStop> {
    let [bypass, current, voltage] =
        [BYPASS, CLAMP_CURRENT, CLAMP_VOLTAGE].map(|first| clamp.channel(first));
    if [bypass, current].iter().any(|&c| !run.bench.has(c)) {
        return Ok(());
    }
    let settle = run
        .circuit(clamp)
        .zip(run.plan.loads.as_ref())
        .map(|(circuit, sheet)| settle_time(&circuit, sheet.supply).si())
        .and_then(|seconds| Duration::try_from_secs_f64(seconds).ok())
        .unwrap_or_default()
        .min(SETTLE_MAX);
    run.state.loads_were_on = true;
    if !run.bench.drive_past_module(clamp)? {
        return find_short(run);
    }
    run.bench.pause(SWITCHED + settle)?;
    let mut voltages = vec![LOAD_VOLTAGE];
    voltages.extend(Some(voltage).filter(|&c| run.bench.has(c)));
    let (current_only, voltages) = ([current], &voltages[..]);
    let request = (orders::currents(&current_only), orders::voltages(voltages));
    let read = [&[current][..], voltages].concat();
    let said = run.bench.channel_readings(&request, &read, 2 * MEASURED_OVER)?;
    let has_tripped = run.bench.trips()?.loads;
    run.bench.send(&(orders::open(&[bypass]), orders::LOADS_OFF))?;
    if has_tripped {
        return find_short(run);
    }
    let (value, volts) =
        (run.channels().corrected(current, said[0]), said.get(1).copied().unwrap_or(0.0));
    let end = run.channels().end_of_reading(current, said[0]);
    if end == Some(End::Bottom) || run.channels().end_of_reading(LOAD_VOLTAGE, volts).is_some() {
        return Ok(());
    }
    let within = |value: f64, channel| {
        let class = run.class(channel);
        let [calibration, offset, gain] = class.offset_and_gain(value);
        Estimate::new(
            value,
            &[
                Component::rectangular(class.linearity).from(Source::Linearity),
                calibration,
                offset,
                gain,
            ],
        )
    };
    let supply = within(volts, LOAD_VOLTAGE);
    let Some(expected) = run.expected_past_module(clamp, supply) else { return Ok(()) };
    let guard = expected.compared(within(value, current)).expanded();
    let is_lost = said.get(2).is_some_and(|&at_clamp| {
        let drop = volts - at_clamp - off_volts.unwrap_or(0.0);
        // Where the two channels were not compared without current, each may be wrong by its class.
        let guard: f64 = [LOAD_VOLTAGE, voltage]
            .map(|channel| run.class(channel))
            .iter()
            .map(|c| {
                let compared = c.linearity + c.resolution;
                let alone = c.offset + c.gain * volts;
                if off_volts.is_some() { compared } else { compared + alone }
            })
            .sum();
        drop > LOST_SHARE * volts || (drop - guard) / value.max(LOST_AT_A) > lost_ohm(run)
    });
    run.state.past_module[clamp.index()] = if is_lost {
        PastModule::NoVoltage
    } else if value < expected.lower() - guard {
        PastModule::Low
    } else if value > expected.window.upper.unwrap_or(f64::INFINITY) + guard {
        PastModule::High
    } else if end.is_some() {
        // It may be any larger.
        PastModule::Unknown
    } else {
        PastModule::Right
    };
    Ok(())
}

/// The resistance of bypass and lead beyond which the lead is bad: what the contact is allowed to
/// have, so that a lead is blamed only when it explains the reading.
fn lost_ohm(run: &OngoingRun<'_, '_>) -> f64 {
    run.plan.module.contact_resistance.upper.map_or(1.0, Units::si)
}
