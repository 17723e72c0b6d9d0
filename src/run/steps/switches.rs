//! Does the module answer at the address that its switches are set for, and where it does not: which
//! switch does it read the other way?

use super::answers_reading::{conclude, elsewhere_told, further, switches_named};
use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::{Answers, Facts};
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::judge::switches::{self, Place, SwitchFault};
use crate::judge::verdict::Window;
use crate::measure::uncertainty::Estimate;
use crate::quantity::unit::duration;
use crate::run::deviation::{self, Explanation, Proven, Seen, explanation};
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
    let seen = match find(run, bank)? {
        Ok(seen) => seen,
        Err(found) => return conclude(run, Quantity::Answers, &found),
    };
    run.bench.load_supply_off()?;
    run.state.proven.push(Proven { asked: bank, seen });
    let sheet = &run.plan.module;
    let places = deviation::places(sheet, &run.state.proven);
    let mut facts = run.state.facts;
    let draft = match seen {
        Seen::Here => answering(1.0, window),
        Seen::At(at) => {
            facts.answers = Answers::Elsewhere;
            let (value, mut note) = elsewhere_told(run, bank, at);
            if let Some(switch) = stuck_here(&places) {
                facts.switch_fault = SwitchFault::Stuck;
                note = stuck(bank, at, switch);
            }
            answering(value, window).noting(note)
        }
        Seen::Nowhere { .. } => match without_address(run, bank) {
            // That it answers elsewhere than asked was told before.
            Some(why) => {
                facts.answers = Answers::Elsewhere;
                ReadingDraft::new(Quantity::Answers, None, window).undecided().noting(why)
            }
            None => answering(0.0, window),
        },
    };
    run.read(draft.knowing(facts))?;
    Ok(())
}

fn answering(value: f64, window: Window) -> ReadingDraft {
    ReadingDraft::new(Quantity::Answers, Some(Estimate::new(value, &[])), window)
}

/// Where the module answers; what else was found where that ends the run.
fn find(run: &mut OngoingRun<'_, '_>, bank: BankSetting) -> Result<Result<Seen, Found>, StepStop> {
    if answers(run, bank.address, bank.format)? {
        run.state.answers_here();
        return Ok(Ok(Seen::Here));
    }
    run.bench.load_supply_off()?;
    let untried = untried(run, bank);
    let nowhere = Seen::Nowhere { untried };
    // What is known of its switches from elsewhere may leave it no address here.
    if without_address(run, bank).is_some() {
        run.state.facts.answers = Answers::Nowhere;
        return Ok(Ok(nowhere));
    }
    // One of the outputs that were asked may be dead, or it is not the switches at all.
    let order = Order { output: 1, to: Position::A, by: By::Command };
    let found = elsewhere::seek(run, &order)?;
    Ok(match found {
        Found::Here | Found::Late => {
            run.state.answers_here();
            Ok(Seen::Here)
        }
        Found::At(at) => {
            run.state.answers_at(at);
            Ok(Seen::At(at))
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
        .map(|switch| 1 << (switch - 1))
        .filter(|&one| with_otherwise(run, bank, one).is_none())
        .sum()
}

/// First address and format with some switches (a bit each) the other way; `None` where there is no
/// such address.
fn with_otherwise(
    run: &OngoingRun<'_, '_>,
    bank: BankSetting,
    others: u32,
) -> Option<(u16, Format)> {
    let sheet = &run.plan.module;
    let set = bank.switches ^ others;
    let (first, format) = (sheet.switches.address_of(set), sheet.switches.format_of(set));
    let first = have_their_own(sheet, first, format).then_some(first)?;
    Some((u16::try_from(first).ok()?, format))
}

/// Why the module has no address at this setting, where what was told before leaves it none.
fn without_address(run: &OngoingRun<'_, '_>, bank: BankSetting) -> Option<String> {
    match explanation(&run.plan.module, &run.state.deviations)? {
        Explanation::Switches(others) if with_otherwise(run, bank, others).is_none() => {
            let which = switches_named(others);
            Some(format!("with {which} the other way, as before, the module has no address here"))
        }
        Explanation::Switches(_) | Explanation::Counting(_) => None,
    }
}

/// The switch that is stuck at the last of these places, where one is.
fn stuck_here(places: &[Place]) -> Option<u8> {
    let switch = switches::explained_by(places, places.last()?)?;
    (switches::fault_of(places, switch) == SwitchFault::Stuck).then_some(switch)
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

/// Where the module answers instead, since a switch is stuck.
fn stuck(bank: BankSetting, at: AnswersAt, switch: u8) -> String {
    let AnswersAt { address, format } = at;
    let seen = on_off(bank.switches >> (switch - 1) & 1 == 0);
    format!(
        "the module answers at {address} {format}, {bank} wanted: switch {switch} is stuck {seen}"
    )
}

const fn on_off(on: bool) -> &'static str {
    if on { "on" } else { "off" }
}

/// Judges all that was proven: is a switch stuck?
pub fn judge(run: &mut OngoingRun<'_, '_>, never: &[u8]) -> Result<(), StepStop> {
    let window = of_sheet(&run.plan.module, Quantity::StuckSwitches);
    let count = run.state.bank.count;
    let places = deviation::places(&run.plan.module, &run.state.proven);
    let found = switches::bank(&places, count);
    let is_open = !found.is_clear && found.stuck.is_empty();
    let value = (!is_open).then(|| Estimate::new(found.stuck.len() as f64, &[]));
    let mut draft = ReadingDraft::new(Quantity::StuckSwitches, value, window).undecided();
    for (switch, on) in &found.stuck {
        draft = draft.noting(format!("switch {switch} is stuck {}", on_off(*on)));
    }
    for switch in &found.set_wrongly {
        draft = draft.noting(format!("switch {switch} moves, but is set the other way round"));
    }
    if let Some(by) = counts_further(run) {
        draft = draft.noting(format!("the module counts {by} than its sheet, wherever it was set"));
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

/// How far from its sheet the module counts, where that explains all that was told.
fn counts_further(run: &OngoingRun<'_, '_>) -> Option<String> {
    let told = &run.state.deviations;
    match explanation(&run.plan.module, told).filter(|_| told.len() > 1)? {
        Explanation::Counting(by) => Some(further(by)),
        Explanation::Switches(_) => None,
    }
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
