//! Feed on and off, and which loads are connected.

use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::link::capture::{CaptureSetup, Trigger};
use crate::link::client::micros;
use crate::link::error::LinkError;
use crate::link::scpi;
use crate::link::scpi::{idle_level, list};
use crate::measure::budget::Source;
use crate::measure::record::Trace;
use crate::measure::uncertainty::{Component, Estimate};
use crate::run::course::{Course, Halt, Taken};
use crate::run::judging::untrusted::Doubt;
use crate::run::known::{Feed, LoadSupply};
use crate::run::see::positions::look_at_bare;
use crate::script::plan::{LoadChoice, Polarity};
use crate::script::timing::LEAD;
use crate::signal::target::{Clamp, Position};
use crate::wire::CHARGE_PERIOD_US;
use crate::wire::channel::{FEED_CURRENT, JIG_LOAD, LOAD_SWITCH, LOAD_VOLTAGE};
use core::time::Duration;

/// Time between scans while the feed comes on.
const WATCH_INTERVAL_US: u32 = 1_000;

/// An inrush below this share of the soft start's limit never reached it.
const CHOKED_SHARE: f64 = 0.8;

/// Off for so long at least, that the module's reservoir has run down; it lies within the slot.
const RUN_DOWN: Duration = Duration::from_millis(950);

/// So long after the feed's order no module moves an output yet: its reservoir still fills.
const NOTHING_YET: Duration = Duration::from_millis(10);

/// The capture memory of unit 1, in counts.
pub const MEMORY: u32 = 32_768;

/// Feed on through the soft start, all outputs watched.
pub fn feed_on(
    course: &mut Course<'_, '_>,
    polarity: Polarity,
    compare: bool,
    window: Duration,
) -> Result<(), Halt> {
    if course.known.feed == Feed::Tripped {
        course.jig.send("OUTP1:PROT:CLE")?;
    }
    let watched = course.loaded_channels();
    let mut scan = vec![LOAD_VOLTAGE, FEED_CURRENT];
    scan.extend(&watched);
    let span_us = micros(window);
    let setup = CaptureSetup {
        scan,
        interval_us: WATCH_INTERVAL_US,
        points: (span_us / u64::from(WATCH_INTERVAL_US)) as u32,
        pre_trigger: 0,
        average: 1,
        trigger: Trigger::Immediate,
    };
    let setup = Course::fit(setup, MEMORY);
    let tripped_loads = if watched.is_empty() { false } else { !load_supply_on(course)? };
    let lead_us = course.jig.clock_us()? + micros(LEAD);
    course.wait_until(lead_us)?;

    let (sense, idle) = (sense(polarity), idle_level(course.known.bank.format));
    course.known.break_watch(lead_us);
    course.known.feed = Feed::On(polarity);
    if !course.plan.module.keeps_position {
        course.known.ordered = [Some(Position::A); 4];
    }
    course.known.facts.draws_nothing = false;
    // In one line with the capture: however late it comes, the capture sees all that follows.
    let on = format!("OUTP1:POL {sense};:DRIV:IDLE {idle};:OUTP1 ON");
    let refused = tripped(course.jig.capture_with(1, &setup, &on))?;
    let on_us = course.jig.clock_us()?;
    let record = course.fetch(1, on_us + span_us + u64::from(WATCH_INTERVAL_US))?;
    course.jig.send("OUTP2 OFF")?;
    let is_tripped = refused || !course.jig.soft_start_ends(course.stop)?;
    course.check_stop()?;
    let tripped_loads = course.trips()?.loads || tripped_loads;
    // A trip ends the capture early: then the inrush was not seen.
    let inrush = record.trace(FEED_CURRENT).filter(|_| !tripped_loads).and_then(Trace::highest);
    let doubt = course.doubt(&record, FEED_CURRENT, &[], ..).map(|_| Doubt::PartBeyond);
    read_charge(course, is_tripped, inrush, doubt)?;
    if is_tripped {
        course.known.feed_trips();
        course.jig.send("OUTP1 OFF")?;
    }
    let now_us = course.jig.clock_us()?;
    course.known.break_watch(now_us);

    if tripped_loads {
        return crate::run::search::short::find_short(course);
    }
    let start = (micros(NOTHING_YET) / u64::from(record.interval_us)) as usize;
    let supply = course.supply_in(&record, 0);
    match supply.filter(|_| !watched.is_empty()) {
        Some(supply) => {
            let mut standing = course.stand(&record, start, supply);
            if compare {
                look_at_bare(course, &mut standing)?;
            }
            read_moves(course, &standing, compare, is_tripped)
        }
        None => Ok(()),
    }
}

/// Charge of the soft start. `inrush_a` is the highest feed current while it went on.
fn read_charge(
    course: &mut Course<'_, '_>,
    is_tripped: bool,
    inrush_a: Option<f64>,
    doubt: Option<Doubt>,
) -> Result<(), Halt> {
    let window = of_sheet(&course.plan.module, Quantity::StartCharge);
    let said = numbers(course, "OUTP1:CHAR?;:SOUR1:CURR:LIM?", Duration::ZERO)?;
    let (charge, time_s) = (said[0], said.get(1).copied().unwrap_or(0.0));
    let limit_a = said.last().copied().unwrap_or(0.0);
    let step_a = said.get(3).copied().unwrap_or(limit_a);
    let class = course.class(FEED_CURRENT);
    let charge = course.correction(FEED_CURRENT).map_or(charge, |c| c.correct_sum(time_s, charge));
    let [calibration, offset, gain] = class.offset_and_gain_over(time_s, charge);
    let linearity = Component::rectangular(class.linearity * time_s).from(Source::Linearity);
    // Where the current falls at once, it may do so anywhere between two looks of the jig.
    let open = step_a * CHARGE_PERIOD_US as f64 * 1e-6 / 2.0;
    let sampling = Component::rectangular(open).from(Source::Sampling);
    let estimate = Estimate::new(charge, &[calibration, offset, gain, linearity, sampling]);
    let mut taken = Taken::new(Quantity::StartCharge, Some(estimate), window);
    taken.facts = Facts { tripped: is_tripped, ..course.known.facts };
    if is_tripped {
        taken.estimate = None;
        taken = taken.noting("the feed has tripped: there is a short at the module or its leads");
    } else {
        taken = taken.doubting(doubt);
        taken.facts.draws_nothing = window.lower.is_some_and(|lower| charge < 0.2 * lower);
        // A reservoir fills at the limit of the soft start, unless something is in its way.
        taken.facts.feed_choked =
            !taken.facts.draws_nothing && inrush_a.is_some_and(|a| a < CHOKED_SHARE * limit_a);
        course.known.facts = Facts { tripped: false, ..taken.facts };
    }
    course.read(taken)?;
    Ok(())
}

/// Outputs that moved at power-on, and those that do not stand where the sheet says.
fn read_moves(
    course: &mut Course<'_, '_>,
    standing: &crate::run::see::positions::Standing,
    compare: bool,
    is_tripped: bool,
) -> Result<(), Halt> {
    let keeps = course.plan.module.keeps_position;
    let facts = Facts { tripped: is_tripped, ..course.known.facts };
    // A module that falls back moves to `a` and nowhere else.
    let moved: Vec<u8> = standing
        .moved()
        .filter(|&output| keeps || standing.of(output) != Some(Position::A))
        .collect();
    let taken = Taken::new(Quantity::UnwantedMoves, Some(count(moved.len())), Window::at_most(0.0))
        .knowing(facts)
        .noting(outputs_note("moved at power-on", &moved));
    course.read(taken)?;
    if !compare {
        return Ok(());
    }
    let at_off = course.known.positions_at_off;
    let wrong: Vec<u8> = course
        .outputs()
        .filter(|&output| course.is_seen(output))
        .filter(|&output| {
            let wanted = if keeps { at_off[usize::from(output) - 1] } else { Some(Position::A) };
            wanted.is_some() && standing.of(output) != wanted
        })
        .collect();
    let taken =
        Taken::new(Quantity::WrongPositions, Some(count(wrong.len())), Window::at_most(0.0))
            .knowing(facts)
            .noting(outputs_note(
                if keeps { "not where it was before" } else { "not fallen back to a" },
                &wrong,
            ));
    course.read(taken)?;
    Ok(())
}

pub fn feed_off(course: &mut Course<'_, '_>) -> Result<(), Halt> {
    course.known.break_watch(course.began_us);
    course.jig.send("OUTP1 OFF")?;
    let now_us = course.jig.clock_us()?;
    course.known.break_watch(now_us);
    // On a slow line it goes off late in the slot: it stays off for its time all the same.
    course.wait_until(now_us + micros(RUN_DOWN))?;
    course.known.positions_at_off = course.known.positions;
    if course.known.feed != Feed::Tripped {
        course.known.feed = Feed::Off;
    }
    Ok(())
}

/// Connects loads to clamps, and disconnects all others.
pub fn connect(
    course: &mut Course<'_, '_>,
    choice: LoadChoice,
    clamps: &[Clamp],
) -> Result<(), Halt> {
    let known = &mut course.known;
    known.loads = choice;
    known.connected = [false; 8];
    if choice != LoadChoice::None {
        clamps.iter().for_each(|c| known.connected[c.index()] = true);
    }
    known.shorted = [false; 8];
    known.past_module = Default::default();
    known.load_supply = LoadSupply::Sound;
    course.jig.send("OUTP2 OFF")?;
    open_loads(course)?;
    if choice == LoadChoice::Real
        && let Some(duties) = duties(course, clamps)
    {
        course.jig.send(&duties)?;
    }
    close_loads(course)
}

/// Opens every switch and bypass of the loads that this jig has.
pub fn open_loads(course: &mut Course<'_, '_>) -> Result<(), Halt> {
    let of_loads = |&c: &u16| matches!(c, 301..=308 | 311..=318 | 321..=328);
    let channels: Vec<u16> =
        course.jig.channels().iter().map(|d| d.channel).filter(of_loads).collect();
    if channels.is_empty() {
        return Ok(());
    }
    Ok(course.jig.send(&format!("ROUT:OPEN (@{})", list(&channels)))?)
}

/// Closes the switches of all loads that are connected and sound.
pub fn close_loads(course: &mut Course<'_, '_>) -> Result<(), Halt> {
    let channels: Vec<u16> =
        course.known.loaded().map(|c| load_switch(course.known.loads, c)).collect();
    if channels.is_empty() {
        return Ok(());
    }
    Ok(course.jig.send(&format!("ROUT:CLOS (@{})", list(&channels)))?)
}

/// The switch that connects a load to its clamp.
pub fn load_switch(choice: LoadChoice, clamp: Clamp) -> u16 {
    clamp.channel(if choice == LoadChoice::Real { LOAD_SWITCH } else { JIG_LOAD })
}

/// Longest on-time and rest of the real loads, for the jig to keep.
fn duties(course: &Course<'_, '_>, clamps: &[Clamp]) -> Option<String> {
    use crate::quantity::unit::Units;
    let sheet = course.plan.loads.as_ref()?;
    let units: Vec<String> = clamps
        .iter()
        .filter_map(|c| {
            let load = sheet.clamps[c.index()].as_ref()?;
            let on = load.on_time?.si();
            let rest = load.rest.map_or(on, Units::si);
            Some(format!("ROUT:DUTY {on:.3},{rest:.3},(@{})", c.channel(LOAD_SWITCH)))
        })
        .collect();
    (!units.is_empty()).then(|| units.join(";:"))
}

/// Turns the load supply on. `false`: it trips at once; the loads that are shorts are disconnected
/// then, and all others left as they are.
pub fn load_supply_on(course: &mut Course<'_, '_>) -> Result<bool, Halt> {
    if course.known.load_supply != LoadSupply::Sound {
        return Ok(false);
    }
    course.known.loads_were_on = true;
    let on = course.jig.send("OUTP2 ON");
    Ok(!tripped(on)?)
}

/// Whether an order was refused because a supply has tripped.
pub fn tripped(result: Result<(), LinkError>) -> Result<bool, Halt> {
    match result {
        Ok(()) => Ok(false),
        Err(LinkError::Tripped(_)) => Ok(true),
        Err(error) => Err(error.into()),
    }
}

/// Comma separated numbers that units answer; `;` between answers counts as a comma. What is not a
/// number, or has no end, is trouble: no reading is made of it.
pub fn numbers(
    course: &mut Course<'_, '_>,
    units: &str,
    expected: Duration,
) -> Result<Vec<f64>, Halt> {
    let said = course.jig.ask_within(units, expected)?;
    let numbers: Option<Vec<f64>> =
        said.split([',', ';']).map(|n| scpi::number(n).filter(|n| n.is_finite())).collect();
    numbers.ok_or_else(|| no_number(units))
}

pub fn no_number(units: &str) -> Halt {
    Halt::Trouble(format!("the jig's answer to {units} is no number: test again"))
}

/// A number of outputs: counted, not measured.
pub fn count(outputs: usize) -> Estimate {
    Estimate::new(outputs as f64, &[])
}

/// `output 2 …`, `outputs 2 and 3 …`; empty for none.
pub fn outputs_note(what: &str, outputs: &[u8]) -> String {
    let list: Vec<String> = outputs.iter().map(u8::to_string).collect();
    match list.split_last() {
        None => String::new(),
        Some((only, [])) => format!("output {only} {what}"),
        Some((last, others)) => format!("outputs {} and {last} {what}", others.join(", ")),
    }
}

pub const fn sense(polarity: Polarity) -> &'static str {
    match polarity {
        Polarity::Normal => "NORM",
        Polarity::Inverted => "INV",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outputs_are_listed_as_people_do() {
        assert_eq!(outputs_note("moved", &[]), "");
        assert_eq!(outputs_note("moved", &[2]), "output 2 moved");
        assert_eq!(outputs_note("moved", &[1, 3]), "outputs 1 and 3 moved");
        assert_eq!(outputs_note("moved", &[1, 2, 4]), "outputs 1, 2 and 4 moved");
    }
}
