//! An output does not answer: where else might the module answer? A short list of likely settings,
//! tried once in a run.

use super::tell::order;
use crate::judge::blame::Answers;
use crate::link::scpi::idle_level;
use crate::quantity::unit::duration;
use crate::run::course::{Course, Halt};
use crate::run::known::Feed;
use crate::run::see::positions::look;
use crate::run::steps::operate::Order;
use crate::run::steps::power::{load_supply_on, sense};
use crate::script::address::have_their_own;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::{BankSetting, Polarity};
use crate::signal::target::{Format, Position};
use core::time::Duration;

/// Feed off for so long, that the module's reservoir has run down.
const RUN_DOWN: Duration = Duration::from_millis(1_000);

/// What to say, and to do, when it answers the other way round.
const WRONG_WAY_ROUND: &str = "the module answers only with the feed the other way round: turn the \
                               power off, swap the two feed wires at the module, and test again";

/// Another setting under which the module may listen.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Candidate {
    first: u16,
    format: Format,
    words: String,
}

/// Tries where else the module might answer, unless that is known already.
pub fn find_answer_once(course: &mut Course<'_, '_>, order: &Order) -> Result<(), Halt> {
    if course.known.facts.answers == Answers::Unknown {
        find_answer(course, order)?;
    }
    Ok(())
}

/// Sends commands under likely settings and notes where the module answers.
pub fn find_answer(course: &mut Course<'_, '_>, order: &Order) -> Result<(), Halt> {
    course.known.facts.answers = Answers::Nowhere;
    if course.loaded_channels().is_empty() || !load_supply_on(course)? {
        course.known.facts.answers = Answers::Unknown;
        return Ok(());
    }
    let found = search(course, order)?;
    course.jig.send("OUTP2 OFF")?;
    match found {
        Some(words) if words.is_empty() => course.known.facts.answers = Answers::Here,
        Some(words) => {
            course.known.facts.answers = Answers::Elsewhere;
            course.known.answers_at = Some(words);
        }
        None => {}
    }
    Ok(())
}

/// Where it answers, in words; empty for where it should.
fn search(course: &mut Course<'_, '_>, order: &Order) -> Result<Option<String>, Halt> {
    let (address, format) = (course.known.bank.address, course.known.bank.format);
    // Perhaps this one output is dead and the others are not.
    for output in course.outputs() {
        if output != order.output && answers(course, address, format, output)? {
            return Ok(Some(String::new()));
        }
    }
    for candidate in candidates(&course.plan.module, course.known.bank) {
        course.jig.send(&format!("DRIV:IDLE {}", idle_level(candidate.format)))?;
        // Any output of the module will do; the ordered one may be dead.
        for output in course.outputs().take(2) {
            if answers(course, candidate.first, candidate.format, output)? {
                course.jig.send(&format!("DRIV:IDLE {}", idle_level(format)))?;
                // Does it listen where it should by now, as one does that is slow to boot?
                let is_here = answers(course, address, format, order.output)?;
                return Ok(Some(if is_here { String::new() } else { candidate.words }));
            }
        }
    }
    course.jig.send(&format!("DRIV:IDLE {}", idle_level(format)))?;
    if course.plan.module.polarity_matters && course.plan.module.try_inverted {
        return inverted(course, order);
    }
    Ok(None)
}

/// Whether a command to an output moves anything. What moved is sent back.
fn answers(
    course: &mut Course<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
) -> Result<bool, Halt> {
    let before = look(course)?;
    // Where the output stands it need not move; so the other position first.
    let at = before[usize::from(output) - 1].unwrap_or(Position::A);
    let ways: &[Position] =
        if before[usize::from(output) - 1].is_some() { &[at.other()] } else { &[at.other(), at] };
    for &to in ways {
        order(course, first, format, output, to)?;
        let there = look(course)?;
        if there == before {
            continue;
        }
        // A module that only now has booted may move by itself: it must follow the way back too.
        order(course, first, format, output, to.other())?;
        let back = look(course)?;
        if back != there {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The other way round.
fn inverted(course: &mut Course<'_, '_>, wanted: &Order) -> Result<Option<String>, Halt> {
    let Feed::On(polarity) = course.known.feed else { return Ok(None) };
    if !turn(course, polarity.other())? {
        return Ok(None);
    }
    let (address, format) = (course.known.bank.address, course.known.bank.format);
    let mut found = false;
    for output in [wanted.output].into_iter().chain(course.outputs()).take(3) {
        found = answers(course, address, format, output)?;
        if found {
            break;
        }
    }
    turn(course, polarity)?;
    course.known.answers_inverted = found;
    Ok(found.then(|| WRONG_WAY_ROUND.into()))
}

/// Turns the feed off, lets the module run down, and turns the feed on with a polarity. `false`: it
/// does not come on.
fn turn(course: &mut Course<'_, '_>, polarity: Polarity) -> Result<bool, Halt> {
    let on_us = course.jig.clock_us()?;
    course.known.break_watch(on_us);
    course.jig.send("OUTP1 OFF")?;
    let off_us = course.jig.clock_us()?;
    course.known.break_watch(off_us);
    course.pause(RUN_DOWN)?;
    let (sense, idle) = (sense(polarity), idle_level(course.known.bank.format));
    course.jig.send(&format!("OUTP1:POL {sense};:DRIV:IDLE {idle};:OUTP1 ON"))?;
    let boot = duration(course.plan.module.boot);
    course.pause(boot + Duration::from_millis(300))?;
    let on_us = course.jig.clock_us()?;
    course.known.break_watch(on_us);
    if course.trips()?.feed {
        course.known.feed_trips();
        return Ok(false);
    }
    course.known.feed = Feed::On(polarity);
    Ok(true)
}

/// Likely mistakes: one switch set wrongly, a group either side, the other format.
fn candidates(sheet: &ModuleSheet, set: BankSetting) -> Vec<Candidate> {
    let BankSetting { switches, address, format, .. } = set;
    let mut list: Vec<Candidate> = Vec::new();
    let bank = &sheet.switches;
    let own = (address, format);
    let mut push = |first: i64, format: Format, words: String| {
        let fits = have_their_own(sheet, first, format);
        let Ok(first) = u16::try_from(first) else { return };
        let is_new = !list.iter().any(|c| c.first == first && c.format == format);
        if fits && is_new && (first, format) != own {
            list.push(Candidate { first, format, words });
        }
    };
    for other in bank.formats() {
        if other != format {
            push(i64::from(address), other, format!("the module answers in format {other}"));
        }
    }
    for switch in 0..bank.weights.len() {
        if bank.weights[switch] == 0 {
            continue;
        }
        let first = bank.address_of(switches ^ (1 << switch));
        let words = format!(
            "the module answers at address {first}, as if switch {} were set the other way",
            switch + 1
        );
        push(first, format, words);
    }
    for by in [-i64::from(sheet.outputs), i64::from(sheet.outputs)] {
        let first = i64::from(address) + by;
        push(first, format, format!("the module answers at address {first}"));
    }
    list
}

#[cfg(test)]
mod tests;
