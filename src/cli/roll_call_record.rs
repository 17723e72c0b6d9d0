//! The record of a roll-call: that of a run of one step.

use super::command_result::{CommandError, OrExit};
use super::listeners::SlowDisk;
use super::output;
use crate::judge::reading::Verdict;
use crate::judge::summary::Summary;
use crate::link::client::Jig;
use crate::plain::plain;
use crate::procedure::bench::Bench;
use crate::procedure::self_test::SelfTest;
use crate::quantity::origin::Origin;
use crate::record::recorder::Recorder;
use crate::roll_call::answer::RollCall;
use crate::roll_call::readings::{SCRIPT, readings};
use crate::roll_call::{Question, RollCallError};
use crate::run::event::{Ending, Event, JigIdentity, Listener, Outcome};
use crate::run::outcome::{AnswersAt, KindFound};
use crate::run::settle::Wait;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::{BankSetting, Plan, Rule, Wanted};
use anyhow::anyhow;
use core::time::Duration;

/// What the record is told before anything is asked.
pub struct Began {
    plan: Plan,
    jig: JigIdentity,
    self_test: SelfTest,
    started: jiff::ZonedDateTime,
}

/// A roll-call that begins. A kind that nobody has named is not known yet.
pub fn began(question: &Question<'_>, jig: &Jig, self_test: SelfTest) -> Began {
    let identity = jig.identity();
    let sheet = question.sheet;
    let count = sheet.switches.weights.len() as u8;
    let (address, format) = (question.address, question.format);
    let switches = sheet.switches.switches_for(address, format).unwrap_or_default();
    let module = if question.kind_given {
        sheet.clone()
    } else {
        ModuleSheet { kind: String::new(), origin: Origin::default(), ..sheet.clone() }
    };
    let plan = Plan {
        script: SCRIPT.into(),
        origin: Origin::of(SCRIPT, SCRIPT),
        title: "Which addresses and which format a module answers to".into(),
        rule: Rule::Guarded,
        calibration_max_days: 0,
        longest_rests: Duration::ZERO,
        module,
        loads: None,
        bank: BankSetting { switches, count, address, format },
        wanted: Wanted {
            address: question.wanted.then_some(address),
            format: question.wanted.then_some(format),
        },
        steps: Vec::new(),
    };
    let started = jig.time_of_day();
    let jig = JigIdentity {
        serial: identity.serial.clone(),
        firmware: identity.firmware.clone(),
        simulated: identity.simulated,
        calibration: None,
    };
    Began { plan, jig, self_test, started }
}

/// Begins the record, and waits until the disk has its space. Nothing has come on yet.
///
/// # Errors
/// When the disk refuses, somebody stops, or the line fails.
pub fn record(
    recorder: &mut Recorder,
    began: &Began,
    bench: &mut Bench<'_>,
) -> Result<(), CommandError> {
    let Began { plan, jig, self_test, started } = began;
    let event = Event::Began { plan, jig, self_test, started: started.clone() };
    recorder.on_event(&event).or_bench()?;
    Ok(Wait::new(bench, &mut [recorder, &mut SlowDisk]).before()?)
}

/// Keeps what a roll-call found, however it ended. Everything is off.
///
/// # Errors
/// When the disk refuses, or nobody waits for it any longer.
pub fn keep(
    recorder: &mut Recorder,
    question: &Question<'_>,
    roll: &Result<RollCall, RollCallError>,
    bench: &mut Bench<'_>,
) -> Result<(), CommandError> {
    let mut tally = Summary::default();
    let told = match roll {
        Ok(roll) => readings(roll, question.sheet_of(roll)),
        Err(_) => Vec::new(),
    };
    let mut kept = Ok(());
    for reading in &told {
        tally.add(reading);
        kept = kept.and(recorder.on_event(&Event::Read(reading)));
    }
    let outcome = outcome(question, roll, &tally);
    let kept = kept.and(recorder.on_event(&Event::Ended(&outcome)));
    let ending = Wait::new(bench, &mut [recorder, &mut SlowDisk]).at_end(Ending::Complete);
    recorder.remarks().iter().for_each(|remark| output::tell(&plain(remark)));
    match (kept, ending) {
        (Ok(()), Ending::Unrecorded(why) | Ending::BenchTrouble(why)) => Err(anyhow!("{why}")),
        (kept, _) => kept.map_err(anyhow::Error::from),
    }
    .or_bench()
}

fn outcome(
    question: &Question<'_>,
    roll: &Result<RollCall, RollCallError>,
    tally: &Summary,
) -> Outcome {
    let ending = match roll {
        Ok(_) => Ending::Complete,
        Err(RollCallError::Stopped) => Ending::Stopped,
        Err(error) => Ending::BenchTrouble(error.to_string()),
    };
    let roll = roll.as_ref().ok();
    let own = roll.and_then(|roll| Some((question.sheet_of(roll), roll.own()?)));
    let at = own.and_then(|(sheet, own)| {
        let first = own.first_by_loads();
        Some(AnswersAt { format: first.format, address: first.address(sheet.numbering)? })
    });
    let is_told = roll.is_some_and(|roll| roll.fits.len() == 1 || question.kind_given);
    let kind_found = own
        .filter(|_| is_told)
        .map(|(sheet, _)| KindFound { kind: sheet.kind.clone(), sheet: sheet.origin.clone() });
    let verdict = roll.and_then(RollCall::judged).unwrap_or(Verdict::Indeterminate);
    Outcome {
        ending,
        verdict,
        blame: if verdict == Verdict::Fail { tally.blame() } else { None },
        suspects: None,
        readings: tally.readings,
        failed: tally.failed,
        indeterminate: tally.indeterminate,
        risk: Default::default(),
        answers_at: at,
        kind_found,
    }
}
