//! Does the module answer with the feed as it is? Asked one way round and the other it proves more
//! of the polarity than the lamp's rhythm does.

use super::answers_reading::conclude;
use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::judge::verdict::Side;
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::order::Order;
use crate::run::search::elsewhere::{self, Found};
use crate::run::search::tell;
use crate::run::state::Feed;
use crate::run::step_stop::StepStop;
use crate::script::actions::Answer;
use crate::script::plan::{By, Polarity};
use crate::signal::target::Position;

impl CarriedOut for Answer {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        answer(run, self.polarity)
    }

    fn lost(&self) -> Lost {
        Lost::Reading(quantity(self.polarity))
    }
}

/// What is read with the feed so.
pub const fn quantity(polarity: Polarity) -> Quantity {
    match polarity {
        Polarity::Normal => Quantity::Answers,
        Polarity::Inverted => Quantity::AnswersInverted,
    }
}

/// Sends commands until an output moves, and tells whether one did.
pub fn answer(run: &mut OngoingRun<'_, '_>, polarity: Polarity) -> Result<(), StepStop> {
    let quantity = quantity(polarity);
    let window = of_sheet(&run.plan.module, quantity);
    if run.feed_tripped()? || run.state.feed != Feed::On(polarity) {
        let facts = Facts::from(run.state.facts).tripping(true);
        let draft = ReadingDraft::new(quantity, None, window).knowing(facts);
        run.read(draft.noting("the feed has tripped"))?;
        return Ok(());
    }
    if run.loaded_channels().is_empty() || !run.load_supply_on()? {
        let draft = ReadingDraft::new(quantity, None, window).undecided();
        run.read(draft.noting("no load shows whether an output moves"))?;
        return Ok(());
    }
    let answering = first_to_answer(run)?;
    run.bench.load_supply_off()?;
    let is_due = window.side(Some(0.0)) == Side::Below;
    let found = match answering {
        Some(_) => Some(Found::Here),
        None if is_due => {
            let order = Order { output: 1, to: Position::A, by: By::Command };
            elsewhere::seek_once(run, &order)?
        }
        None => None,
    };
    run.state.answering = run.state.answering.or(answering);
    // With the feed so, it does not answer.
    conclude(run, quantity, &found.unwrap_or(Found::Unasked))
}

/// The first output that a command moves. Once one is known to answer, only that one is asked.
fn first_to_answer(run: &mut OngoingRun<'_, '_>) -> Result<Option<u8>, StepStop> {
    let asked: Vec<u8> = match run.state.answering {
        Some(output) => vec![output],
        None => run.outputs().collect(),
    };
    for output in asked {
        if moves(run, output)? {
            return Ok(Some(output));
        }
    }
    Ok(None)
}

/// Whether a command to an output moves anything. It is left where it goes: its coil must rest
/// before the next move.
fn moves(run: &mut OngoingRun<'_, '_>, output: u8) -> Result<bool, StepStop> {
    let (address, format) = (run.state.bank.address, run.state.bank.format);
    let at = usize::from(output) - 1;
    let before = run.look()?;
    // Where nobody can tell where it stands, one of both positions is another one.
    let ways = match before[at] {
        Some(stands) => vec![stands.other()],
        None => vec![Position::B, Position::A],
    };
    run.state.ordered[at] = None;
    for to in ways {
        tell::order(run, address, format, output, to)?;
        if run.look()? != before {
            return Ok(true);
        }
    }
    Ok(false)
}
