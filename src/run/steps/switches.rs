//! Does the module answer at the address that its switches are set for, and where it does not: which
//! switch does it read the other way?

use super::answers_reading::{conclude, moved_by};
use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::{Answers, Facts};
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::judge::switches::{self, Place, Read, SwitchFault};
use crate::measure::uncertainty::Estimate;
use crate::quantity::unit::duration;
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::order::Order;
use crate::run::outcome::AnswersAt;
use crate::run::search::elsewhere::{self, Found};
use crate::run::search::tell;
use crate::run::state::Feed;
use crate::run::step_stop::StepStop;
use crate::script::actions::{JudgeSwitches, ProveSwitches};
use crate::script::address::have_their_own;
use crate::script::every_switch::switches as numbers;
use crate::script::plan::{BankSetting, By};
use crate::script::timing::ends;
use crate::signal::target::{Format, Position};

impl CarriedOut for ProveSwitches {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        prove(run, self.0)
    }

    fn lost(&self) -> Lost {
        Lost::Reading(Quantity::Answers)
    }
}

impl CarriedOut for JudgeSwitches {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        judge(run, &self.never)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

/// Proves the address that the module is set to.
pub fn prove(run: &mut OngoingRun<'_, '_>, bank: BankSetting) -> Result<(), StepStop> {
    let window = of_sheet(&run.plan.module, Quantity::Answers);
    if run.feed_tripped()? || !matches!(run.state.feed, Feed::On(_)) {
        let facts = Facts::from(run.state.facts).tripping(true);
        let draft = ReadingDraft::new(Quantity::Answers, None, window).knowing(facts);
        run.read(draft.noting("the feed has tripped"))?;
        return Ok(());
    }
    if run.loaded_channels().is_empty() || !run.load_supply_on()? {
        let draft = ReadingDraft::new(Quantity::Answers, None, window).undecided();
        run.read(draft.noting("no load shows whether an output moves"))?;
        return Ok(());
    }
    let read = match find(run, bank)? {
        Ok(read) => read,
        Err(found) => return conclude(run, Quantity::Answers, &found),
    };
    run.bench.load_supply_off()?;
    let place = Place { asked: bank.switches, read };
    run.state.places.push(place);
    let mut facts = run.state.facts;
    let mut note = String::new();
    if read == Read::Otherwise {
        let BankSetting { address, format, .. } = run.state.bank;
        facts.answers = Answers::Elsewhere;
        note = moved_by(&run.plan.module, bank, AnswersAt { address, format });
    }
    if let Some(switch) = switches::explained_by(&run.state.places, &place) {
        let fault = switches::fault_of(&run.state.places, switch);
        note = where_else(run, bank, switch, fault);
        facts.answers = Answers::Elsewhere;
        facts.switch_fault = fault;
    }
    let answers = f64::from(u8::from(read == Read::AsAsked));
    let draft = ReadingDraft::new(Quantity::Answers, Some(Estimate::new(answers, &[])), window);
    run.read(draft.knowing(facts).noting(note))?;
    Ok(())
}

/// How the module reads its switches; what else was found where that ends the run.
fn find(run: &mut OngoingRun<'_, '_>, bank: BankSetting) -> Result<Result<Read, Found>, StepStop> {
    if answers(run, bank.address, bank.format)? {
        run.state.answers_here();
        return Ok(Ok(Read::AsAsked));
    }
    run.bench.load_supply_off()?;
    let untried = untried(run, bank);
    let nowhere = Read::Nowhere { untried };
    // What is known of a switch from elsewhere may leave it no address here.
    let place = Place { asked: bank.switches, read: nowhere };
    if switches::explained_by(&run.state.places, &place).is_some() {
        run.state.facts.answers = Answers::Nowhere;
        return Ok(Ok(nowhere));
    }
    // One of the outputs that were asked may be dead, or it is not the switches at all.
    let order = Order { output: 1, to: Position::A, by: By::Command };
    let found = elsewhere::seek(run, &order)?;
    Ok(match found {
        Found::Here | Found::Late => {
            run.state.answers_here();
            Ok(Read::AsAsked)
        }
        Found::At(at) => {
            run.state.answers_at(at);
            Ok(read_as(run, bank, at))
        }
        Found::Unasked => Ok(nowhere),
        Found::Nowhere(_) => {
            run.state.searched_in_vain += 1;
            // With one of these switches stuck the module has no address here; at the next setting it
            // has one.
            if untried == 0 || run.state.facts.draws_nothing || run.state.searched_in_vain > 1 {
                Err(found)
            } else {
                run.state.facts.answers = Answers::Nowhere;
                Ok(nowhere)
            }
        }
        Found::AsOthers(..)
        | Found::WrongWayRound
        | Found::AfterCopies(_)
        | Found::NotSearched(_) => Err(found),
    })
}

/// The switches (a bit each) with which the other way there is no address where the module could be
/// found.
fn untried(run: &OngoingRun<'_, '_>, bank: BankSetting) -> u32 {
    numbers(run.plan.module.switches.with_meaning())
        .filter(|&switch| with_one_otherwise(run, bank, switch).is_none())
        .fold(0, |bits, switch| bits | 1 << (switch - 1))
}

/// How the module must read its switches to answer there.
fn read_as(run: &OngoingRun<'_, '_>, bank: BankSetting, at: AnswersAt) -> Read {
    let mut likely: Vec<u8> = numbers(run.plan.module.switches.with_meaning()).collect();
    // What was so before is most likely so again.
    let was_otherwise = |switch: &u8| {
        run.state.places.iter().any(|place| place.read == Read::OneOtherwise(*switch))
    };
    likely.sort_by_key(|switch| !was_otherwise(switch));
    let is_there =
        |&switch: &u8| with_one_otherwise(run, bank, switch) == Some((at.address, at.format));
    likely.into_iter().find(is_there).map_or(Read::Otherwise, Read::OneOtherwise)
}

/// First address and format with one switch the other way; `None` where there is no such address.
fn with_one_otherwise(
    run: &OngoingRun<'_, '_>,
    bank: BankSetting,
    switch: u8,
) -> Option<(u16, Format)> {
    let sheet = &run.plan.module;
    let set = bank.switches ^ 1 << (switch - 1);
    let (first, format) = (sheet.switches.address_of(set), sheet.switches.format_of(set));
    let first = have_their_own(sheet, first, format).then_some(first)?;
    Some((u16::try_from(first).ok()?, format))
}

/// Whether a module listens at a first address: both the first and the last output obey there.
fn answers(run: &mut OngoingRun<'_, '_>, first: u16, format: Format) -> Result<bool, StepStop> {
    for output in ends(run.plan.module.outputs) {
        if !obeys(run, first, format, output)? {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Whether commands to an output move something, one way and back. A command to where it stands
/// would move nothing, so both are sent. The coils rest after each move, and so do the loads.
fn obeys(
    run: &mut OngoingRun<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
) -> Result<bool, StepStop> {
    let at = usize::from(output) - 1;
    let mut before = run.look()?;
    let stands = match before[at] {
        Some(stands) => stands,
        None => {
            run.state.ordered[at] = None;
            tell::order(run, first, format, output, Position::B)?;
            let now = run.look()?;
            if now != before {
                rest(run)?;
            }
            before = now;
            Position::B
        }
    };
    for to in [stands.other(), stands] {
        tell::order(run, first, format, output, to)?;
        let now = run.look()?;
        if now == before {
            return Ok(false);
        }
        rest(run)?;
        before = now;
    }
    Ok(true)
}

/// The module's rest between two operations, the loads off.
fn rest(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    run.bench.load_supply_off()?;
    run.bench.pause(duration(run.plan.module.rest))?;
    run.load_supply_on()?;
    Ok(())
}

/// Where the module answers instead, and what that says of a switch.
fn where_else(
    run: &OngoingRun<'_, '_>,
    bank: BankSetting,
    switch: u8,
    fault: SwitchFault,
) -> String {
    let there = match with_one_otherwise(run, bank, switch) {
        Some((first, format)) => format!("the module answers at {first} {format}"),
        None => "the module has no address".to_owned(),
    };
    let seen = on_off(bank.switches >> (switch - 1) & 1 == 0);
    let why = match fault {
        SwitchFault::Stuck => format!("switch {switch} is stuck {seen}"),
        SwitchFault::SetWrongly => {
            format!("switch {switch} is set the other way than asked for, wherever it was set")
        }
        SwitchFault::None | SwitchFault::Undecided => {
            format!("switch {switch} is {seen}: it is set wrongly, or stuck")
        }
    };
    format!("{there}: {why}")
}

const fn on_off(on: bool) -> &'static str {
    if on { "on" } else { "off" }
}

/// Judges all that was proven: is a switch stuck?
pub fn judge(run: &mut OngoingRun<'_, '_>, never: &[u8]) -> Result<(), StepStop> {
    let window = of_sheet(&run.plan.module, Quantity::StuckSwitches);
    let count = run.state.bank.count;
    let found = switches::bank(&run.state.places, count);
    let is_open = !found.is_clear && found.stuck.is_empty();
    let value = (!is_open).then(|| Estimate::new(found.stuck.len() as f64, &[]));
    let mut draft = ReadingDraft::new(Quantity::StuckSwitches, value, window).undecided();
    for (switch, on) in &found.stuck {
        draft = draft.noting(format!("switch {switch} is stuck {}", on_off(*on)));
    }
    for switch in &found.set_wrongly {
        draft = draft.noting(format!("switch {switch} moves, but is set the other way round"));
    }
    if is_open {
        draft = draft.noting(open_question(&found.suspects));
    }
    for switch in never {
        draft =
            draft.noting(format!("switch {switch} has no address that shows it in both places"));
    }
    let facts = run.state.facts;
    run.read(draft.knowing(facts))?;
    if facts.answers == Answers::Nowhere {
        return Err(StepStop::Enough(format!(
            "as its switches stand now, set for {}, the module answers nowhere",
            run.state.asked
        )));
    }
    Ok(())
}

fn open_question(suspects: &[u8]) -> String {
    let names: Vec<String> = suspects.iter().map(u8::to_string).collect();
    match names.split_last() {
        None => "the module did not answer everywhere, so nothing is known of its switches".into(),
        Some((one, [])) => format!("switch {one} may be stuck, or is set wrongly"),
        Some((last, others)) => {
            format!("one of switches {} and {last} may be stuck", others.join(", "))
        }
    }
}
