//! An output does not answer: where else might the module answer? A short list of likely settings,
//! tried once in a run.

use super::course::{Course, Halt};
use super::known::Feed;
use super::operate::{Order, command_at, longest_move};
use super::positions::look;
use super::power::{load_supply_on, sense};
use super::seen::Seen;
use crate::judge::blame::{Answers, Crossed};
use crate::link::client::micros;
use crate::link::scpi::idle_level;
use crate::quantity::unit::duration;
use crate::script::address::have_their_own;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::{BankSetting, Polarity};
use crate::signal::target::{Clamp, Format, Position};
use crate::wire::channel::CONTACT_CLOSER;
use core::time::Duration;

/// What the jig may hold back before a command goes out.
const QUEUED: Duration = Duration::from_millis(15);
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

/// Sends commands under likely settings and notes where the module answers.
pub(super) fn find_answer(course: &mut Course<'_, '_>, order: &Order) -> Result<(), Halt> {
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

/// Sends a command and waits until a sound module would have carried it out.
pub(super) fn order(
    course: &mut Course<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
    to: Position,
) -> Result<(), Halt> {
    let telegram = command_at(course, first, format, output, to)?;
    let repeat = course.plan.module.repeat;
    let asked_us = course.jig.clock_us()?;
    course.jig.command(&telegram, repeat)?;
    let sent_us = course.jig.clock_us()?;
    let until_us = sent_us
        + u64::from(telegram.sending_us(repeat))
        + micros(QUEUED)
        + micros(longest_move(course));
    course.known.suspect(asked_us, until_us);
    course.wait_until(until_us)
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

/// Something else moved than what was told to: another output, or the same one the other way. Does
/// its contact input do the same?
pub(super) fn find_crossing(
    course: &mut Course<'_, '_>,
    wanted: &Order,
    seen: &Seen,
) -> Result<(), Halt> {
    let at = usize::from(wanted.output) - 1;
    if course.known.moved_instead[at].is_some() || seen.tripped {
        return Ok(());
    }
    let others: Vec<u8> = seen.standing.moved().filter(|&o| o != wanted.output).collect();
    let went_back = seen.standing.before[at] == Some(wanted.to)
        && seen.standing.after[at] == Some(wanted.to.other());
    let other = match others[..] {
        [] if went_back => wanted.output,
        [other] if !went_back => other,
        _ => return Ok(()),
    };
    let Some(stands) = seen.standing.of(other) else {
        // Its own positions are both closed, or both open: one change-over cannot do that, so a
        // clamp of another output hangs on it.
        course.known.moved_instead[at] = Some((other, Crossed::Both));
        return Ok(());
    };
    if !load_supply_on(course)? {
        return Ok(());
    }
    // Swapped outputs: the contact for where the other one does not stand moves that one. Swapped
    // positions: the contact for where it stands already moves it away.
    let first = if other == wanted.output { stands } else { stands.other() };
    let mut before = look(course)?;
    let mut moves = Vec::new();
    for to in [first, first.other()] {
        close(course, Clamp { output: wanted.output, position: to })?;
        let after = look(course)?;
        moves.extend(
            course.outputs().filter(|&o| after[usize::from(o) - 1] != before[usize::from(o) - 1]),
        );
        before = after;
        if other == wanted.output {
            break;
        }
    }
    course.jig.send("OUTP2 OFF")?;
    let crossed =
        if moves.contains(&other) && (other == wanted.output || !moves.contains(&wanted.output)) {
            Crossed::Both
        } else {
            Crossed::CommandsOnly
        };
    course.known.moved_instead[at] = Some((other, crossed));
    Ok(())
}

/// A contact input does nothing: does any other one?
pub(super) fn try_contacts(course: &mut Course<'_, '_>, wanted: &Order) -> Result<(), Halt> {
    course.known.tried_contacts = true;
    if !load_supply_on(course)? {
        return Ok(());
    }
    let mut tried = 0;
    let mut works = false;
    for output in course.outputs().filter(|&o| o != wanted.output) {
        let before = look(course)?;
        let at = usize::from(output) - 1;
        let Some(stands) = before[at] else { continue };
        close(course, Clamp { output, position: stands.other() })?;
        tried += 1;
        if look(course)? != before {
            close(course, Clamp { output, position: stands })?;
            look(course)?;
            works = true;
            break;
        }
    }
    course.known.facts.contacts_dead = tried > 0 && !works;
    Ok(course.jig.send("OUTP2 OFF")?)
}

/// Closes a contact input for the sheet's time and waits until a sound output would have moved.
fn close(course: &mut Course<'_, '_>, clamp: Clamp) -> Result<(), Halt> {
    let closure = duration(course.plan.module.contact_closure);
    let asked_us = course.jig.clock_us()?;
    course.jig.close_contact(clamp.channel(CONTACT_CLOSER), closure)?;
    let rest = closure.max(longest_move(course)) + QUEUED;
    let now_us = course.jig.clock_us()?;
    course.known.suspect(asked_us, now_us + micros(rest));
    course.pause(rest)
}

#[cfg(test)]
mod tests;
