//! An output does not answer: where else might the module answer? A short list of likely settings,
//! tried once in a run.

use super::tell::order;
use crate::judge::blame::Answers;
use crate::procedure::orders;
use crate::procedure::supplies::RUN_DOWN;
use crate::quantity::unit::duration;
use crate::run::course::Course;
use crate::run::order::Order;
use crate::run::state::Feed;
use crate::run::step_stop::StepStop;
use crate::script::address::have_their_own;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::{BankSetting, Polarity};
use crate::signal::target::{Format, Position};
use core::time::Duration;

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
pub fn find_answer_once(course: &mut Course<'_, '_>, order: &Order) -> Result<(), StepStop> {
    if course.state.facts.answers == Answers::Unknown {
        find_answer(course, order)?;
    }
    Ok(())
}

/// Sends commands under likely settings and notes where the module answers.
pub fn find_answer(course: &mut Course<'_, '_>, order: &Order) -> Result<(), StepStop> {
    course.state.facts.answers = Answers::Nowhere;
    if course.loaded_channels().is_empty() || !course.load_supply_on()? {
        course.state.facts.answers = Answers::Unknown;
        return Ok(());
    }
    let found = search(course, order)?;
    course.bench.load_supply_off()?;
    match found {
        Some(words) if words.is_empty() => course.state.facts.answers = Answers::Here,
        Some(words) => {
            course.state.facts.answers = Answers::Elsewhere;
            course.state.answers_at = Some(words);
        }
        None => {}
    }
    Ok(())
}

/// Where it answers, in words; empty for where it should.
fn search(course: &mut Course<'_, '_>, order: &Order) -> Result<Option<String>, StepStop> {
    let (address, format) = (course.state.bank.address, course.state.bank.format);
    // Perhaps this one output is dead and the others are not.
    for output in course.outputs() {
        if output != order.output && answers(course, address, format, output)? {
            return Ok(Some(String::new()));
        }
    }
    for candidate in candidates(&course.plan.module, course.state.bank) {
        course.bench.rest_in(candidate.format)?;
        // Any output of the module will do; the ordered one may be dead.
        for output in course.outputs().take(2) {
            if answers(course, candidate.first, candidate.format, output)? {
                course.bench.rest_in(format)?;
                // Does it listen where it should by now, as one does that is slow to boot?
                let is_here = answers(course, address, format, order.output)?;
                return Ok(Some(if is_here { String::new() } else { candidate.words }));
            }
        }
    }
    course.bench.rest_in(format)?;
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
) -> Result<bool, StepStop> {
    let before = course.look()?;
    // Where the output stands it need not move; so the other position first.
    let at = before[usize::from(output) - 1].unwrap_or(Position::A);
    let ways: &[Position] =
        if before[usize::from(output) - 1].is_some() { &[at.other()] } else { &[at.other(), at] };
    for &to in ways {
        order(course, first, format, output, to)?;
        let there = course.look()?;
        if there == before {
            continue;
        }
        // A module that only now has booted may move by itself: it must follow the way back too.
        order(course, first, format, output, to.other())?;
        let back = course.look()?;
        if back != there {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The other way round.
fn inverted(course: &mut Course<'_, '_>, wanted: &Order) -> Result<Option<String>, StepStop> {
    let Feed::On(polarity) = course.state.feed else { return Ok(None) };
    if !turn(course, polarity.other())? {
        return Ok(None);
    }
    let (address, format) = (course.state.bank.address, course.state.bank.format);
    let mut found = false;
    for output in [wanted.output].into_iter().chain(course.outputs()).take(3) {
        found = answers(course, address, format, output)?;
        if found {
            break;
        }
    }
    turn(course, polarity)?;
    course.state.answers_inverted = found;
    Ok(found.then(|| WRONG_WAY_ROUND.into()))
}

/// Turns the feed off, lets the module run down, and turns the feed on with a polarity. `false`: it
/// does not come on.
fn turn(course: &mut Course<'_, '_>, polarity: Polarity) -> Result<bool, StepStop> {
    let on_us = course.bench.clock_us()?;
    course.state.break_watch(on_us);
    course.bench.feed_off()?;
    let off_us = course.bench.clock_us()?;
    course.state.break_watch(off_us);
    course.bench.pause(RUN_DOWN)?;
    course.bench.send(&orders::feed_on(polarity, course.state.bank.format))?;
    let boot = duration(course.plan.module.boot);
    course.bench.pause(boot + Duration::from_millis(300))?;
    let on_us = course.bench.clock_us()?;
    course.state.break_watch(on_us);
    if course.bench.trips()?.feed {
        course.state.feed_trips();
        return Ok(false);
    }
    course.state.feed = Feed::On(polarity);
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
