//! Looks for the cause of what does not pass: cheap extra looks, each made once.

use super::course::{Course, Halt};
use super::doubt::End;
use super::known::LoadSupply;
use super::operate::Order;
use super::power::{close_loads, load_switch, numbers, open_loads, tripped};
use super::probe;
use super::seen::{Seen, at_clamp, needs_look};
use crate::judge::blame::{Answers, Crossed, Facts, PastModule};
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::load::settle_time;
use crate::measure::budget::Source;
use crate::measure::change_over::ChangeOver;
use crate::measure::uncertainty::{Component, Estimate};
use crate::quantity::unit::Units;
use crate::script::plan::{By, LoadChoice};
use crate::signal::target::{Clamp, Position};
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
/// A coil's pulse is seen when it reaches this share of its lower limit.
const COIL_SHARE: f64 = 0.3;
/// What counts as a coil's pulse where the sheet has no lower limit, amperes.
const COIL_LEAST_A: f64 = 0.01;

/// Gathers what is known about an operation; looks where something seems wrong.
pub(super) fn facts(
    course: &mut Course<'_, '_>,
    order: &Order,
    seen: &Seen,
    change: Option<&ChangeOver>,
) -> Result<Facts, Halt> {
    let new = order.new_clamp();
    let moved = change.is_some_and(|c| c.closed.is_some());
    let coil_limits = of_sheet(&course.plan.module, Quantity::CoilCurrent);
    let coil_least = coil_limits.lower.map_or(COIL_LEAST_A, |l| COIL_SHARE * l);
    let coil = seen.coil().map(|p| p.height.value - p.height.expanded() > coil_least);
    let others_moved = seen.standing.moved().any(|output| output != order.output);

    if order.by == By::Command {
        if moved || coil == Some(true) || others_moved {
            if course.known.facts.answers != Answers::Elsewhere {
                course.known.facts.answers = Answers::Here;
            }
        } else if !seen.tripped {
            find_answer_once(course, order)?;
        }
        if !moved {
            probe::find_crossing(course, order, seen)?;
        }
    }
    if order.by == By::Contact && !moved && !course.known.tried_contacts && !seen.tripped {
        probe::try_contacts(course, order)?;
    }
    if order.by != By::CommandAgainstContact && needs_look(course, new, seen) {
        look_past_module(course, new, seen.zero.map(|z| z.supply - z.clamp))?;
    }
    let crossed = course.known.moved_instead[usize::from(order.output) - 1]
        .map_or(Crossed::No, |(_, crossed)| crossed);
    Ok(Facts {
        jig_loads: course.known.loads == LoadChoice::Jig,
        past_module: course.known.past_module[new.index()],
        at_clamp: at_clamp(seen, new),
        coil_pulse: coil,
        moved: change.map(|_| moved),
        all_dead: is_dead(course, order.output, seen),
        crossed,
        tripped: seen.tripped,
        ..course.known.facts
    })
}

/// Tries where else the module might answer, unless that is known already.
pub(super) fn find_answer_once(course: &mut Course<'_, '_>, order: &Order) -> Result<(), Halt> {
    if course.known.facts.answers == Answers::Unknown {
        probe::find_answer(course, order)?;
    }
    Ok(())
}

/// Whether neither position of an output carried current, before or after, though both have loads:
/// its common is off.
fn is_dead(course: &Course<'_, '_>, output: u8, seen: &Seen) -> bool {
    let at = usize::from(output) - 1;
    let both = [Position::A, Position::B].map(|position| Clamp { output, position });
    !seen.tripped
        && seen.supply.is_some()
        && seen.standing.before[at].is_none()
        && seen.standing.after[at].is_none()
        && both.iter().all(|&c| course.known.is_loaded(c) && !course.known.has_carried[c.index()])
        && both.iter().all(|&c| at_clamp(seen, c) == crate::judge::blame::AtClamp::Absent)
}

/// The load's current past the module: the bypass drives the clamp's lead and the load. `off_volts`
/// is by how much the voltages of supply and clamp differ without current.
pub(super) fn look_past_module(
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
    let end = course.end_at(current, value);
    if end == Some(End::Bottom) || course.end_at(LOAD_VOLTAGE, volts).is_some() {
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

/// The load supply has tripped: finds which load is a short, past the module, and leaves it
/// disconnected. When it is none of them the load supply stays off.
pub(super) fn find_short(course: &mut Course<'_, '_>) -> Result<(), Halt> {
    course.known.loads_were_on = true;
    course.jig.send("OUTP2:PROT:CLE;:OUTP2 OFF")?;
    open_loads(course)?;
    let clamps: Vec<Clamp> = course.known.loaded().collect();
    let mut found = false;
    for clamp in clamps {
        let (bypass, load) = (clamp.channel(BYPASS), load_switch(course.known.loads, clamp));
        let on = format!("ROUT:CLOS (@{bypass},{load});:OUTP2 ON");
        let refused = tripped(course.jig.send(&on))?;
        course.pause(SWITCHED)?;
        let has_tripped = refused || course.trips()?.loads;
        course.jig.send(&format!("OUTP2 OFF;:ROUT:OPEN (@{bypass},{load})"))?;
        if has_tripped {
            course.jig.send("OUTP2:PROT:CLE")?;
            course.known.shorted[clamp.index()] = true;
            course.known.past_module[clamp.index()] = PastModule::High;
            found = true;
        }
    }
    if !found {
        course.known.load_supply = LoadSupply::Unusable;
    }
    close_loads(course)
}
