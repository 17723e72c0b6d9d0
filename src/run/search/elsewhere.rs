//! A module does not answer where it is asked: where does it?
//!
//! The other outputs are asked, then the feed is turned round, then the roll-call goes over the likely
//! addresses and over all others. Each setting of the switches is searched for once.

use super::moves::moves_anything;
use super::seat::still_there;
use super::turned::{answers_inverted, turn};
use crate::judge::blame::Answers;
use crate::link::client::micros;
use crate::roll_call::answer::{RollCall, Silence};
use crate::roll_call::{Question, RollCallError, Stage, call_the_roll};
use crate::run::event::{Event, Searching};
use crate::run::ongoing::OngoingRun;
use crate::run::order::Order;
use crate::run::outcome::AnswersAt;
use crate::run::state::Feed;
use crate::run::step_stop::StepStop;
use core::time::Duration;

/// What a search found.
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// No load shows whether anything answers.
    Unasked,
    /// Where it was asked, after all.
    Here,
    /// Where it was asked, but only after a while.
    Late,
    /// Elsewhere.
    At(AnswersAt),
    /// As modules of other kinds do.
    AsOthers(AnswersAt, Vec<String>),
    /// Where it was asked, but with the feed the other way round only.
    WrongWayRound,
    /// Only when a command is sent so many times in a row.
    AfterCopies(u8),
    /// Nowhere, as far as it was searched: why, in words.
    Nowhere(String),
    /// It was not searched elsewhere: why, in words.
    NotSearched(String),
}

/// Why a module is not asked any further.
const DRAWS_NOTHING: &str = "the module draws no current and answers nothing";

/// Searches, unless it is known already whether and where the module answers.
pub fn seek_once(run: &mut OngoingRun<'_, '_>, order: &Order) -> Result<Option<Found>, StepStop> {
    if run.state.facts.answers != Answers::Unknown {
        return Ok(None);
    }
    seek(run, order).map(Some)
}

/// Where the module answers. All outputs may stand elsewhere afterwards; the feed and the loads are as
/// before.
pub fn seek(run: &mut OngoingRun<'_, '_>, order: &Order) -> Result<Found, StepStop> {
    let Feed::On(polarity) = run.state.feed else { return Ok(Found::Unasked) };
    if run.loaded_channels().is_empty() || !run.load_supply_on()? {
        return Ok(Found::Unasked);
    }
    still_there(run)?;
    let another = another_answers(run, order)?;
    run.bench.load_supply_off()?;
    if another {
        return Ok(Found::Here);
    }
    let set = run.state.bank;
    let module = &run.plan.module;
    if module.polarity_matters && module.try_inverted && answers_inverted(run, polarity)? {
        return Ok(Found::WrongWayRound);
    }
    if run.state.facts.draws_nothing {
        return Ok(Found::Nowhere(DRAWS_NOTHING.into()));
    }
    if let Some(why) = run.may_not_search()? {
        return Ok(Found::NotSearched(why));
    }
    let roll = call(run)?;
    run.state.positions = [None; 4];
    run.close_loads()?;
    if !turn(run, polarity)? {
        return Ok(Found::Unasked);
    }
    let found = found(run, &roll);
    match &found {
        Found::Late => {
            wait_for_answer(run, AnswersAt { address: set.address, format: set.format })?
        }
        Found::At(at) => wait_for_answer(run, *at)?,
        _ => {}
    }
    Ok(found)
}

/// The longest that a module which needs long to boot is waited for once it was found.
const LONGEST_BOOT: Duration = Duration::from_secs(30);

/// Waits until the module answers again after its power was off.
fn wait_for_answer(run: &mut OngoingRun<'_, '_>, at: AnswersAt) -> Result<(), StepStop> {
    let AnswersAt { address, format } = at;
    let end_us = run.bench.clock_us()? + micros(LONGEST_BOOT);
    run.bench.rest_in(format)?;
    while run.load_supply_on()? {
        for output in run.outputs() {
            if moves_anything(run, address, format, output)? {
                return Ok(run.bench.load_supply_off()?);
            }
        }
        if run.bench.clock_us()? > end_us {
            break;
        }
    }
    Ok(run.bench.load_supply_off()?)
}

/// Whether this one output may be dead, and the others are not.
fn another_answers(run: &mut OngoingRun<'_, '_>, order: &Order) -> Result<bool, StepStop> {
    let (address, format) = (run.state.bank.address, run.state.bank.format);
    for output in run.outputs().filter(|&output| output != order.output) {
        if moves_anything(run, address, format, output)? {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The roll-call, told as it goes on. It leaves everything off.
fn call(run: &mut OngoingRun<'_, '_>) -> Result<RollCall, StepStop> {
    let now_us = run.bench.clock_us()?;
    run.state.break_watch(now_us);
    let (plan, set) = (run.plan, run.state.bank);
    let question = Question {
        sheet: &plan.module,
        address: set.address,
        format: set.format,
        formats: plan.module.switches.formats(),
        all: run.options.neighbours,
        hook_up: false,
        wanted: true,
        kind_given: true,
        kinds: &run.options.kinds,
    };
    let OngoingRun { bench, listeners, .. } = run;
    let mut told = Ok(());
    let mut tell = |stage: &Stage<'_>| {
        let share = stage.sent as f64 / stage.most.max(1) as f64;
        let left = stage.at_most.mul_f64((1.0 - share).clamp(0.0, 1.0));
        let event = Event::Searching(Searching { words: stage.words, at_most: left });
        for listener in listeners.iter_mut() {
            told = core::mem::replace(&mut told, Ok(())).and(listener.on_event(&event));
        }
    };
    let roll = call_the_roll(bench.jig, &question, bench.stop, &mut tell);
    told?;
    Ok(roll?)
}

/// What the roll-call says of this module.
fn found(run: &OngoingRun<'_, '_>, roll: &RollCall) -> Found {
    let set = run.state.bank;
    let other = roll.kind.and_then(|at| run.options.kinds.get(at));
    let sheet = other.unwrap_or(&run.plan.module);
    let Some(own) = roll.own() else { return Found::Nowhere(silent(run, roll)) };
    let first = own.first_by_loads();
    let Some(address) = first.address(sheet.numbering) else {
        return Found::Nowhere(format!(
            "the module answers in group {} of {}, which has no addresses",
            first.group(),
            first.format
        ));
    };
    if run.options.neighbours && !own.shows() {
        return Found::Nowhere(format!(
            "{address} {} answers, but no load shows that it is this module",
            first.format
        ));
    }
    if other.is_some() {
        Found::AsOthers(AnswersAt { format: first.format, address }, roll.fits.clone())
    } else if own.inverted {
        Found::WrongWayRound
    } else if roll.is_stubborn(own) {
        Found::AfterCopies(own.copies)
    } else if (address, first.format) == (set.address, set.format) {
        Found::Late
    } else {
        Found::At(AnswersAt { format: first.format, address })
    }
}

/// Why nothing answers.
fn silent(run: &OngoingRun<'_, '_>, roll: &RollCall) -> String {
    match &roll.silence {
        Some(Silence::Dark { .. }) => DRAWS_NOTHING.into(),
        Some(Silence::Shorted { .. }) => "the feed trips as soon as it is searched for".into(),
        Some(Silence::Unmoved { hears_broadcast: true, .. }) => {
            "the module moves on the broadcast to all modules only: its switches mean no address of \
             its own"
                .into()
        }
        Some(Silence::Unmoved { .. }) | None => {
            let formats: Vec<String> = roll.formats.iter().map(ToString::to_string).collect();
            let seconds = Duration::as_secs(&roll.took);
            let kind = &run.plan.module.kind;
            format!(
                "the module answers at no address of {}, asked for {seconds} s as a {kind}",
                formats.join(" or ")
            )
        }
    }
}

impl From<RollCallError> for StepStop {
    fn from(error: RollCallError) -> Self {
        match error {
            RollCallError::Stopped => StepStop::Stopped,
            RollCallError::Bench(why) | RollCallError::BadQuestion(why) => StepStop::Trouble(why),
        }
    }
}
