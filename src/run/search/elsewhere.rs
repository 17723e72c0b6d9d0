//! An output does not answer: where else might the module answer? A short list of likely settings,
//! tried once in a run.

use super::tell::order;
use crate::judge::blame::Answers;
use crate::procedure::orders;
use crate::procedure::supplies::RUN_DOWN;
use crate::quantity::unit::duration;
use crate::run::ongoing::OngoingRun;
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
pub fn find_answer_once(run: &mut OngoingRun<'_, '_>, order: &Order) -> Result<(), StepStop> {
    if run.state.facts.answers == Answers::Unknown {
        find_answer(run, order)?;
    }
    Ok(())
}

/// Sends commands under likely settings and notes where the module answers.
pub fn find_answer(run: &mut OngoingRun<'_, '_>, order: &Order) -> Result<(), StepStop> {
    run.state.facts.answers = Answers::Nowhere;
    if run.loaded_channels().is_empty() || !run.load_supply_on()? {
        run.state.facts.answers = Answers::Unknown;
        return Ok(());
    }
    let found = search(run, order)?;
    run.bench.load_supply_off()?;
    match found {
        Some(words) if words.is_empty() => {
            run.state.facts.answers = Answers::Here;
            run.state.answers_here();
        }
        Some(words) => {
            run.state.facts.answers = Answers::Elsewhere;
            run.state.answers_at = Some(words);
        }
        None => {}
    }
    Ok(())
}

/// Where it answers, in words; empty for where it should.
fn search(run: &mut OngoingRun<'_, '_>, order: &Order) -> Result<Option<String>, StepStop> {
    let (address, format) = (run.state.bank.address, run.state.bank.format);
    // Perhaps this one output is dead and the others are not.
    for output in run.outputs() {
        if output != order.output && answers(run, address, format, output)? {
            return Ok(Some(String::new()));
        }
    }
    for candidate in candidates(&run.plan.module, run.state.bank) {
        run.bench.rest_in(candidate.format)?;
        // Any output of the module will do; the ordered one may be dead.
        for output in run.outputs().take(2) {
            if answers(run, candidate.first, candidate.format, output)? {
                run.bench.rest_in(format)?;
                // Does it listen where it should by now, as one does that is slow to boot?
                let is_here = answers(run, address, format, order.output)?;
                if is_here {
                    return Ok(Some(String::new()));
                }
                run.state.answers(candidate.format, candidate.first);
                return Ok(Some(candidate.words));
            }
        }
    }
    run.bench.rest_in(format)?;
    if run.plan.module.polarity_matters && run.plan.module.try_inverted {
        return inverted(run, order);
    }
    Ok(None)
}

/// Whether a command to an output moves anything. What moved is sent back.
fn answers(
    run: &mut OngoingRun<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
) -> Result<bool, StepStop> {
    let before = run.look()?;
    // Where the output stands it need not move; so the other position first.
    let at = before[usize::from(output) - 1].unwrap_or(Position::A);
    let ways: &[Position] =
        if before[usize::from(output) - 1].is_some() { &[at.other()] } else { &[at.other(), at] };
    for &to in ways {
        order(run, first, format, output, to)?;
        let there = run.look()?;
        if there == before {
            continue;
        }
        // A module that only now has booted may move by itself: it must follow the way back too.
        order(run, first, format, output, to.other())?;
        let back = run.look()?;
        if back != there {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The other way round.
fn inverted(run: &mut OngoingRun<'_, '_>, wanted: &Order) -> Result<Option<String>, StepStop> {
    let Feed::On(polarity) = run.state.feed else { return Ok(None) };
    if !turn(run, polarity.other())? {
        return Ok(None);
    }
    let (address, format) = (run.state.bank.address, run.state.bank.format);
    let mut found = false;
    for output in [wanted.output].into_iter().chain(run.outputs()).take(3) {
        found = answers(run, address, format, output)?;
        if found {
            break;
        }
    }
    turn(run, polarity)?;
    run.state.answers_inverted = found;
    Ok(found.then(|| WRONG_WAY_ROUND.into()))
}

/// Turns the feed off, lets the module run down, and turns the feed on with a polarity. `false`: it
/// does not come on.
pub fn turn(run: &mut OngoingRun<'_, '_>, polarity: Polarity) -> Result<bool, StepStop> {
    let on_us = run.bench.clock_us()?;
    run.state.break_watch(on_us);
    run.bench.feed_off()?;
    let off_us = run.bench.clock_us()?;
    run.state.break_watch(off_us);
    run.bench.pause(RUN_DOWN)?;
    run.bench.send(&orders::feed_on(polarity, run.state.bank.format))?;
    run.state.feed = Feed::On(polarity);
    let boot = duration(run.plan.module.boot);
    run.bench.pause(boot + Duration::from_millis(300))?;
    let on_us = run.bench.clock_us()?;
    run.state.break_watch(on_us);
    if run.bench.trips()?.feed {
        run.state.feed_trips();
        return Ok(false);
    }
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
    let group = bank.step;
    for by in [-i64::from(group), i64::from(group)] {
        let first = i64::from(address) + by;
        push(first, format, format!("the module answers at address {first}"));
    }
    // The likeliest first: a load is on meanwhile, and may be for a while only.
    list.sort_by_key(|c| c.format != format || c.first.abs_diff(address) != group);
    list
}

#[cfg(test)]
mod tests;
