//! Does the module answer at the address that its switches are set for, and where it does not: which
//! switch does it read the other way?

use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::{Answers, Facts};
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::judge::switches::{self, Place, Read, SwitchFault};
use crate::measure::uncertainty::Estimate;
use crate::quantity::unit::duration;
use crate::run::course::Course;
use crate::run::judging::draft::ReadingDraft;
use crate::run::order::Order;
use crate::run::search::{elsewhere, tell};
use crate::run::state::Feed;
use crate::run::step_stop::StepStop;
use crate::script::actions::{JudgeSwitches, ProveSwitches};
use crate::script::address::have_their_own;
use crate::script::every_switch::switches as numbers;
use crate::script::plan::{BankSetting, By};
use crate::script::timing::ends;
use crate::signal::target::{Format, Position};

impl CarriedOut for ProveSwitches {
    fn carry_out(&self, course: &mut Course<'_, '_>) -> Result<(), StepStop> {
        prove(course, self.0)
    }

    fn lost(&self) -> Lost {
        Lost::Reading(Quantity::Answers)
    }
}

impl CarriedOut for JudgeSwitches {
    fn carry_out(&self, course: &mut Course<'_, '_>) -> Result<(), StepStop> {
        judge(course, &self.never)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

/// Proves the address that the module is set to.
pub fn prove(course: &mut Course<'_, '_>, bank: BankSetting) -> Result<(), StepStop> {
    let window = of_sheet(&course.plan.module, Quantity::Answers);
    if course.feed_tripped()? || !matches!(course.state.feed, Feed::On(_)) {
        let facts = Facts::from(course.state.facts).tripping(true);
        let draft = ReadingDraft::new(Quantity::Answers, None, window).knowing(facts);
        course.read(draft.noting("the feed has tripped"))?;
        return Ok(());
    }
    if course.loaded_channels().is_empty() || !course.load_supply_on()? {
        let draft = ReadingDraft::new(Quantity::Answers, None, window).undecided();
        course.read(draft.noting("no load shows whether an output moves"))?;
        return Ok(());
    }
    let read = find(course, bank)?;
    course.bench.load_supply_off()?;
    let place = Place { asked: bank.switches, read };
    course.state.places.push(place);
    if let Some(switch) = switches::explained_by(&course.state.places, &place) {
        let fault = switches::fault_of(&course.state.places, switch);
        course.state.answers_at = Some(where_else(course, bank, switch, fault));
        course.state.facts.answers = Answers::Elsewhere;
        course.state.facts.switch_fault = fault;
    }
    let answers = f64::from(u8::from(read == Read::AsAsked));
    let draft = ReadingDraft::new(Quantity::Answers, Some(Estimate::new(answers, &[])), window);
    let facts = course.state.facts;
    course.read(draft.knowing(facts))?;
    // All that follows would fail for this one reason.
    if course.state.answers_inverted { Err(StepStop::Enough) } else { Ok(()) }
}

/// How the module reads its switches.
fn find(course: &mut Course<'_, '_>, bank: BankSetting) -> Result<Read, StepStop> {
    if answers(course, bank.address, bank.format)? {
        course.state.facts.answers = Answers::Here;
        return Ok(Read::AsAsked);
    }
    let mut untried = 0;
    let mut likely: Vec<u8> = numbers(course.plan.module.switches.with_meaning()).collect();
    // What was so before is most likely so again.
    let was_otherwise = |switch: &u8| {
        course.state.places.iter().any(|place| place.read == Read::OneOtherwise(*switch))
    };
    likely.sort_by_key(|switch| !was_otherwise(switch));
    for switch in likely {
        let Some((first, format)) = with_one_otherwise(course, bank, switch) else {
            untried |= 1 << (switch - 1);
            continue;
        };
        listen_in(course, format)?;
        let is_there = answers(course, first, format)?;
        listen_in(course, bank.format)?;
        if is_there {
            return Ok(Read::OneOtherwise(switch));
        }
    }
    // One of the outputs that were asked may be dead, or it is not the switches at all.
    let order = Order { output: 1, to: Position::A, by: By::Command };
    elsewhere::find_answer(course, &order)?;
    Ok(match course.state.facts.answers {
        Answers::Here => Read::AsAsked,
        Answers::Elsewhere => Read::Otherwise,
        Answers::Nowhere | Answers::Unknown => Read::Nowhere { untried },
    })
}

/// First address and format with one switch the other way; `None` where there is no such address.
fn with_one_otherwise(
    course: &Course<'_, '_>,
    bank: BankSetting,
    switch: u8,
) -> Option<(u16, Format)> {
    let sheet = &course.plan.module;
    let set = bank.switches ^ 1 << (switch - 1);
    let (first, format) = (sheet.switches.address_of(set), sheet.switches.format_of(set));
    let first = have_their_own(sheet, first, format).then_some(first)?;
    Some((u16::try_from(first).ok()?, format))
}

/// The feed rests as the format wants it.
fn listen_in(course: &mut Course<'_, '_>, format: Format) -> Result<(), StepStop> {
    Ok(course.bench.rest_in(format)?)
}

/// Whether a module listens at a first address: both the first and the last output obey there.
fn answers(course: &mut Course<'_, '_>, first: u16, format: Format) -> Result<bool, StepStop> {
    for output in ends(course.plan.module.outputs) {
        if !obeys(course, first, format, output)? {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Whether commands to an output move something, one way and back. A command to where it stands
/// would move nothing, so both are sent. The coils rest after each move, and so do the loads.
fn obeys(
    course: &mut Course<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
) -> Result<bool, StepStop> {
    let at = usize::from(output) - 1;
    let mut before = course.look()?;
    let stands = match before[at] {
        Some(stands) => stands,
        None => {
            course.state.ordered[at] = None;
            tell::order(course, first, format, output, Position::B)?;
            let now = course.look()?;
            if now != before {
                rest(course)?;
            }
            before = now;
            Position::B
        }
    };
    for to in [stands.other(), stands] {
        tell::order(course, first, format, output, to)?;
        let now = course.look()?;
        if now == before {
            return Ok(false);
        }
        rest(course)?;
        before = now;
    }
    Ok(true)
}

/// The module's rest between two operations, the loads off.
fn rest(course: &mut Course<'_, '_>) -> Result<(), StepStop> {
    course.bench.load_supply_off()?;
    course.bench.pause(duration(course.plan.module.rest))?;
    course.load_supply_on()?;
    Ok(())
}

/// Where the module answers instead, and what that says of a switch.
fn where_else(
    course: &Course<'_, '_>,
    bank: BankSetting,
    switch: u8,
    fault: SwitchFault,
) -> String {
    let there = match with_one_otherwise(course, bank, switch) {
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
pub fn judge(course: &mut Course<'_, '_>, never: &[u8]) -> Result<(), StepStop> {
    let window = of_sheet(&course.plan.module, Quantity::StuckSwitches);
    let count = course.state.bank.count;
    let found = switches::bank(&course.state.places, count);
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
    let facts = course.state.facts;
    course.read(draft.knowing(facts))?;
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
