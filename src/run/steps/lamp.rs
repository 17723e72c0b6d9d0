//! The lamp's rhythm, watched through the feed current while other steps run.

use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::link::capture::{CaptureSetup, Trigger};
use crate::measure::lamp::{NoRhythm, Rhythm as Seen, rhythm};
use crate::procedure::captures::{WATCH, memory};
use crate::run::event::LampQuestion;
use crate::run::judging::draft::ReadingDraft;
use crate::run::ongoing::OngoingRun;
use crate::run::see::lamp::{
    current, duty, fits, is_dead, longest_part, shows_less, suspect_in, window,
};
use crate::run::see::untrusted::Untrusted;
use crate::run::state::Feed;
use crate::run::state::Watch;
use crate::run::step_stop::StepStop;
use crate::run::steps::lamp_question;
use crate::script::actions::{JudgeLamp, WatchLamp};
use crate::script::plan::Polarity;
use crate::wire::channel::FEED_CURRENT;
use crate::wire::preamble::State;

impl CarriedOut for WatchLamp {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        watch(run)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

impl CarriedOut for JudgeLamp {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        judge(run)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

/// Time between points.
const INTERVAL_US: u32 = 10_000;
/// Conversions averaged into one point.
const AVERAGE: u16 = 20;

/// Begins to watch.
pub fn watch(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    let setup = CaptureSetup {
        scan: vec![FEED_CURRENT],
        interval_us: INTERVAL_US,
        points: memory(WATCH),
        pre_trigger: 0,
        average: AVERAGE,
        trigger: Trigger::Immediate,
    };
    run.bench.arm(WATCH, &setup)?;
    let began_us = run.bench.clock_us()?;
    run.state.watch =
        Some(Watch { began_us, suspect_us: Vec::new(), breaks_us: Vec::new(), tripped: false });
    Ok(())
}

/// Judges what was watched since.
pub fn judge(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    let Some(watch) = run.state.watch.take() else {
        return Err(StepStop::Trouble("the script judges the lamp but never watched it".into()));
    };
    let is_cut = run.bench.jig.capture_state(WATCH)?.state == State::Aborted;
    let tripped = watch.tripped || run.feed_tripped()?;
    run.bench.jig.abort_capture(WATCH)?;
    let record = run.fetch(WATCH, watch.began_us)?;
    let class = run.class(FEED_CURRENT);
    let part = longest_part(&record, &watch.breaks_us);
    let suspect = suspect_in(&record, &watch.suspect_us, &part);
    let seen = record.trace(FEED_CURRENT).map_or(Err(NoRhythm::TooShort), |trace| {
        let values = &trace.numbers()[part.clone()];
        let seen = rhythm(values, record.interval_us, record.average, &suspect, 1.0);
        let noise = run.state.feed_noise.map(|noise| noise / f64::from(AVERAGE).sqrt());
        seen.map(|seen| Seen { drawn: current(&seen.drawn, noise, &trace.scale, &class), ..seen })
    });
    let is_inverted = run.state.feed == Feed::On(Polarity::Inverted);
    let sheet = &run.plan.module;
    // Without a matter of polarity there is one rhythm only.
    let told_apart = sheet.lamp_inverted.filter(|_| sheet.polarity_matters);
    let (due, other) = match told_apart {
        Some(inverted) if is_inverted => (inverted, Some(sheet.lamp)),
        other => (sheet.lamp, other),
    };
    let question = LampQuestion { lamps: sheet.lamps, due, other };
    let mut facts = Facts::from(run.state.facts);
    let is_other = seen.is_ok_and(|s| {
        other.is_some_and(|o| fits(&s, &o, sheet.lamps)) && !fits(&s, &due, sheet.lamps)
    });
    facts.reading.lamp_inverted = !is_inverted && is_other;
    let trace = record.trace(FEED_CURRENT);
    let draws_nothing = facts.module.draws_nothing || trace.is_some_and(is_dead);
    let lamp_current = of_sheet(sheet, Quantity::LampCurrent);
    let is_dark = draws_nothing
        || seen == Err(NoRhythm::NoChange)
            && trace.is_some_and(|trace| shows_less(trace, part, &suspect, &lamp_current));
    let is_limited = [window(&due.rate), window(&due.duty)].iter().any(|w| *w != Window::OPEN);
    // The lamp is there, and the feed current does not tell what it does.
    if seen.is_err() && is_limited && !is_dark && !tripped && !is_cut {
        let mut facts = facts;
        facts.reading.lamp_inverted = !is_inverted && other.is_some();
        if lamp_question::ask(run, &question, facts)? {
            return Ok(());
        }
    }
    for (quantity, window) in [
        (Quantity::LampRate, window(&due.rate)),
        (Quantity::LampDuty, window(&due.duty)),
        (Quantity::LampCurrent, lamp_current),
    ] {
        // What nobody cares about is no open question; what a lamp draws is told in the notes anyway.
        if window == Window::OPEN && (seen.is_err() || quantity == Quantity::LampCurrent) {
            continue;
        }
        let mut draft = draft(quantity, window, &seen, run.plan.module.lamps);
        draft = draft.knowing(facts);
        draft.facts.module.draws_nothing = draws_nothing;
        draft.undecided = !is_dark;
        if seen.is_err() && tripped {
            draft.facts.reading.tripped = true;
            draft.undecided = false;
            draft.note = "the feed has tripped".into();
        } else if seen.is_err() && is_cut {
            draft = draft.untrusted(Some(Untrusted::CutShort));
        }
        run.read(draft)?;
    }
    Ok(())
}

fn draft(
    quantity: Quantity,
    window: Window,
    seen: &Result<Seen, NoRhythm>,
    lamps: u8,
) -> ReadingDraft {
    match seen {
        Ok(seen) => {
            let estimate = match quantity {
                Quantity::LampRate => seen.rate,
                Quantity::LampCurrent => seen.drawn,
                _ => duty(seen, &window, lamps),
            };
            let note = format!("{} blinks of {:.3} mA", seen.cycles, seen.drawn.value * 1e3);
            ReadingDraft::new(quantity, Some(estimate), window).noting(note)
        }
        Err(why) => ReadingDraft::new(quantity, None, window).noting(why.to_string()),
    }
}
