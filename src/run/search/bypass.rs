//! A load's current past the module: is it the contact, the lead or the load?

use crate::judge::blame::PastModule;
use crate::load::settle_time;
use crate::measure::budget::Source;
use crate::measure::scale::End;
use crate::measure::uncertainty::{Component, Estimate};
use crate::quantity::unit::Units;
use crate::run::course::{Course, Halt};
use crate::run::search::short::find_short;
use crate::run::steps::power::{numbers, tripped};
use crate::signal::target::Clamp;
use crate::wire::channel::{BYPASS, CLAMP_CURRENT, CLAMP_VOLTAGE, LOAD_VOLTAGE};
use core::time::Duration;

/// Between a switch's order and the moment its contacts have settled.
const SWITCHED: Duration = Duration::from_millis(10);
/// What a `MEASure` takes.
const MEASURED_OVER: Duration = Duration::from_millis(20);
/// The longest that a load is given to settle on the bypass.
const SETTLE_MAX: Duration = Duration::from_millis(500);
/// A drop of this share of the supply's voltage, without the module in the way, is lost in a lead.
const LOST_SHARE: f64 = 0.5;
/// From this current on, in amperes, the drop on the way tells a resistance.
const LOST_AT_A: f64 = 0.05;

/// The load's current past the module: the bypass drives the clamp's lead and the load. `off_volts`
/// is by how much the voltages of supply and clamp differ without current.
pub fn look_past_module(
    course: &mut Course<'_, '_>,
    clamp: Clamp,
    off_volts: Option<f64>,
) -> Result<(), Halt> {
    let (bypass, current) = (clamp.channel(BYPASS), clamp.channel(CLAMP_CURRENT));
    let voltage = clamp.channel(CLAMP_VOLTAGE);
    if [bypass, current].iter().any(|&c| course.jig.channel(c).is_none()) {
        return Ok(());
    }
    let settle = course
        .circuit(clamp)
        .and_then(|circuit| Duration::try_from_secs_f64(settle_time(&circuit).si()).ok())
        .unwrap_or_default()
        .min(SETTLE_MAX);
    course.known.loads_were_on = true;
    if tripped(course.jig.send(&format!("OUTP2 ON;:ROUT:CLOS (@{bypass})")))? {
        return find_short(course);
    }
    course.pause(SWITCHED + settle)?;
    let at_clamp =
        if course.jig.channel(voltage).is_some() { format!(",{voltage}") } else { String::new() };
    let units = format!("MEAS:CURR? (@{current});:MEAS:VOLT? (@{LOAD_VOLTAGE}{at_clamp})");
    let said = numbers(course, &units, 2 * MEASURED_OVER)?;
    let has_tripped = course.trips()?.loads;
    course.jig.send(&format!("ROUT:OPEN (@{bypass});:OUTP2 OFF"))?;
    if has_tripped {
        return find_short(course);
    }
    let (value, volts) = (course.corrected(current, said[0]), said.get(1).copied().unwrap_or(0.0));
    let end = course.end_of_reading(current, said[0]);
    if end == Some(End::Bottom) || course.end_of_reading(LOAD_VOLTAGE, volts).is_some() {
        return Ok(());
    }
    let within = |value: f64, channel| {
        let class = course.class(channel);
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
    let Some(expected) = course.expected_past_module(clamp, supply) else { return Ok(()) };
    let guard = expected.compared(within(value, current)).expanded();
    let is_lost = said.get(2).is_some_and(|&at_clamp| {
        let drop = volts - at_clamp - off_volts.unwrap_or(0.0);
        // Where the two channels were not compared without current, each may be wrong by its class.
        let guard: f64 = [LOAD_VOLTAGE, voltage]
            .map(|channel| course.class(channel))
            .iter()
            .map(|c| {
                let compared = c.linearity + c.resolution;
                let alone = c.offset + c.gain * volts;
                if off_volts.is_some() { compared } else { compared + alone }
            })
            .sum();
        drop > LOST_SHARE * volts || (drop - guard) / value.max(LOST_AT_A) > lost_ohm(course)
    });
    course.known.past_module[clamp.index()] = if is_lost {
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
fn lost_ohm(course: &Course<'_, '_>) -> f64 {
    course.plan.module.contact_resistance.upper.map_or(1.0, Units::si)
}
