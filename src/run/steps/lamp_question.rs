//! The lamp's rhythm, where the feed current does not tell it: the operator looks.

use crate::judge::blame::Facts;
use crate::judge::reading::{Quantity, Verdict};
use crate::judge::verdict::Window;
use crate::run::event::{Event, LampQuestion, LampSeen};
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::step_stop::StepStop;

/// Asks, and tells the observation as what it is. `false`: nobody could tell.
///
/// `facts` hold if the lamp shows the other rhythm.
pub fn ask(
    run: &mut OngoingRun<'_, '_>,
    question: &LampQuestion,
    facts: Facts,
) -> Result<bool, StepStop> {
    if run.unattended {
        return Ok(false);
    }
    run.emit(&Event::AskedLamp(question))?;
    let hand = &mut *run.hand;
    let seen = run.bench.keeping_alive(|alive| hand.look(question, alive))?;
    // Looking takes no script time; the slot goes on when it is done.
    run.begin_slot()?;
    run.bench.check_stop()?;
    let (verdict, words) = match seen {
        None => return Err(StepStop::Stopped),
        Some(LampSeen::CannotTell) => return Ok(false),
        Some(LampSeen::Due) => (Verdict::Pass, "the rhythm that is due"),
        Some(LampSeen::Other) => (Verdict::Fail, "another rhythm than the one that is due"),
        Some(LampSeen::NoRhythm) => (Verdict::Fail, "a lamp that is dark, steady or in no rhythm"),
    };
    let mut draft = ReadingDraft::new(Quantity::LampSeen, None, Window::OPEN)
        .knowing(facts)
        .noting(format!("not measured: the operator saw {words}"));
    draft.facts.reading.lamp_inverted &= seen == Some(LampSeen::Other);
    draft.seen = Some(verdict);
    run.read(draft)?;
    Ok(true)
}
