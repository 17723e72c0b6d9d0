//! Listens to a run and keeps what it reads.

use super::captures::Captures;
use super::error::RecordError;
use super::facts::{FORMAT, Facts};
use super::folder::{LotFolder, ModuleFolder};
use super::journal::{Head, Journal};
use super::run_files;
use super::run_record::{Closing, Planned, RunEnding, RunSummary};
use super::{aside, cell, lot_csv, recover};
use crate::judge::reading::Verdict;
use crate::judge::risk::three_digits;
use crate::run::event::{Ending, Event, JigIdentity, ListenError, Listener, Outcome};
use crate::script::module_sheet::NUMBERINGS;
use crate::script::plan::{Plan, Wanted};
use crate::signal::target::Format;
use std::path::{Path, PathBuf};

/// What the user says about a run.
#[derive(Clone, Debug)]
pub struct Labels {
    /// The module's name.
    pub module: String,
    /// The lot's name.
    pub lot: String,
    /// Who runs it; may be empty.
    pub operator: String,
}

/// Keeps a journal while the run goes on, and leaves a report and a row in `lot.csv` at its end.
#[derive(Debug)]
pub struct Recorder {
    labels: Labels,
    lot: LotFolder,
    module: ModuleFolder,
    records: PathBuf,
    journal: Option<Journal>,
    captures: Option<Captures>,
    number: Option<u32>,
    report: Option<PathBuf>,
    /// How many steps the plan has.
    planned_steps: usize,
    /// How many steps were carried out.
    steps: usize,
    /// What a person should be told at the end.
    remarks: Vec<String>,
}

impl Recorder {
    /// Makes the folders and checks what can be checked before anything is turned on.
    ///
    /// # Errors
    /// When a name is not sane, a folder cannot be written, or `lot.csv` is not ours.
    pub fn open(records: &Path, labels: Labels) -> Result<Self, RecordError> {
        super::names::check("module", &labels.module)?;
        let lot = LotFolder::open(records, &labels.lot)?;
        lot_csv::check(&lot)?;
        let module = lot.module(&labels.module)?;
        Ok(Recorder {
            labels,
            lot,
            module,
            records: records.to_path_buf(),
            journal: None,
            captures: None,
            number: None,
            report: None,
            planned_steps: 0,
            steps: 0,
            remarks: Vec::new(),
        })
    }

    /// Finishes the reports of earlier runs of this module that were cut off.
    ///
    /// # Errors
    /// When the folder cannot be read, or a row cannot be added to `lot.csv`.
    pub fn recover(&self) -> Result<Vec<recover::Fate>, RecordError> {
        let fates = recover::module(&self.module)?;
        for fate in &fates {
            if let recover::Fate::Finished { run, .. } = fate {
                lot_csv::append(&self.lot, run)?;
            }
        }
        Ok(fates)
    }

    /// What the user says about the run.
    pub fn labels(&self) -> &Labels {
        &self.labels
    }

    /// The number of the run, once it began.
    pub fn number(&self) -> Option<u32> {
        self.number
    }

    /// What is true of the run, while it goes on.
    pub fn facts(&self) -> Option<&Facts> {
        self.journal.as_ref().map(Journal::facts)
    }

    /// What a person should be told at the end, a sentence each.
    pub fn remarks(&self) -> &[String] {
        &self.remarks
    }

    /// The finished report, once it is in place.
    pub fn report(&self) -> Option<&Path> {
        self.report.as_deref()
    }

    fn begin(
        &mut self,
        plan: &Plan,
        jig: &JigIdentity,
        started: &jiff::ZonedDateTime,
    ) -> Result<(), RecordError> {
        let _lock = self.module.lock()?;
        let run = self.module.next_run()?;
        let head = Head {
            facts: facts(&self.labels, run, plan, jig, started),
            planned: Planned { steps: plan.steps.len(), seconds: plan.duration().as_secs_f64() },
        };
        let beside = self.module.captures(run);
        self.captures = Some(Captures::new(beside, &self.records, &head.facts));
        let space = space_for(plan);
        self.journal = Some(Journal::create(&self.module.journal(run), head, space)?);
        self.number = Some(run);
        self.planned_steps = plan.steps.len();
        Ok(())
    }

    fn end(&mut self, outcome: &Outcome) -> Result<(), ListenError> {
        // A run that never began has nothing to keep.
        let Some(mut journal) = self.journal.take() else { return Ok(()) };
        let closing = self.closing(outcome);
        let finished = finish(&mut journal, &closing, &self.module);
        let (run, was_damaged) = finished.map_err(|error| {
            ListenError(format!(
                "{error}; the readings are safe in {}: make room, then finish the report with \
                 `musterbench recover`",
                journal.path().display()
            ))
        })?;
        let report = self.module.report(run.facts.run);
        self.report = Some(report.clone());
        // Only now: the report needs the space more.
        let passes = outcome.verdict == Verdict::Pass && closing.ending == RunEnding::Complete;
        if let Some(error) = self.captures.take().and_then(|captures| captures.end(passes)) {
            self.remarks.push(format!("captures could not all be kept: {error}"));
        }
        let listed = lot_csv::append(&self.lot, &run).and_then(|aside| {
            if let Some(aside) = aside {
                self.remarks.push(format!(
                    "lot.csv was damaged, or of an older format: it was rebuilt from the reports, and \
                     the old one kept as {}",
                    aside.display()
                ));
            }
            if was_damaged { aside::keep(journal.path()).map(drop) } else { recover::remove(journal.path()) }
        });
        listed.map_err(|error| {
            ListenError(format!(
                "{error}; the report is whole ({}), but {} does not list it: put that right, then \
                 rebuild it with `musterbench recover`",
                report.display(),
                self.lot.lot_csv().display()
            ))
        })
    }

    fn closing(&self, outcome: &Outcome) -> Closing {
        let planned = self.planned_steps;
        let (ending, reason) = match &outcome.ending {
            Ending::Complete if self.steps < planned => (RunEnding::EndedEarly, None),
            Ending::Complete => (RunEnding::Complete, None),
            Ending::Stopped => (RunEnding::Stopped, None),
            Ending::BenchTrouble(why) | Ending::Unrecorded(why) => {
                (RunEnding::Trouble, Some(why.clone()))
            }
        };
        Closing {
            verdict: outcome.verdict,
            blame: outcome.blame,
            ending,
            reason,
            steps: self.steps,
            accepting_risk: outcome.risk.of_accepting().map(three_digits),
            rejecting_risk: outcome.risk.of_rejecting().map(three_digits),
            address_found: outcome.answers_at.map(|at| at.address),
            command_format_found: outcome.answers_at.map(|at| at.format.to_string()),
        }
    }
}

/// What is true of a run that begins.
fn facts(
    labels: &Labels,
    run: u32,
    plan: &Plan,
    jig: &JigIdentity,
    started: &jiff::ZonedDateTime,
) -> Facts {
    let counts_both_ways = plan.bank.format == Format::Dcc;
    let numbering = NUMBERINGS.iter().find(|(_, n)| *n == plan.module.numbering);
    let Wanted { address, format } = plan.wanted;
    let loads = plan.loads.as_ref().map(|sheet| &sheet.origin);
    Facts {
        format: FORMAT,
        module: labels.module.clone(),
        lot: labels.lot.clone(),
        run,
        started: cell::time(started),
        simulated: jig.simulated,
        program: Some(env!("CARGO_PKG_VERSION").into()),
        operator: labels.operator.clone(),
        jig: jig.serial.clone(),
        firmware: jig.firmware.clone(),
        jig_calibration: jig.calibration.as_ref().map(|used| used.name.clone()),
        script: plan.script.clone(),
        script_digest: Some(plan.origin.digest.clone()),
        rule: Some(plan.rule.word().into()),
        kind: Some(plan.module.kind.clone()),
        module_sheet: Some(plan.module.origin.name.clone()),
        module_sheet_digest: Some(plan.module.origin.digest.clone()),
        load_sheet: loads.map(|origin| origin.name.clone()),
        load_sheet_digest: loads.map(|origin| origin.digest.clone()),
        numbering: numbering.filter(|_| counts_both_ways).map(|(word, _)| (*word).into()),
        address_wanted: address,
        address_found: None,
        command_format_wanted: format.map(|format| format.to_string()),
        command_format_found: None,
    }
}

/// Leaves the report and the facts file. Whether the journal had to be read as damaged.
fn finish(
    journal: &mut Journal,
    closing: &Closing,
    module: &ModuleFolder,
) -> Result<(RunSummary, bool), RecordError> {
    journal.close(closing)?;
    // What the report says is what is on the disk, not what is in memory.
    let contents = journal.contents()?;
    let damaged = contents.damaged;
    let record = contents.record(recover::WHY).ok_or_else(|| RecordError::Damaged {
        path: journal.path().to_path_buf(),
        why: "what was written cannot be read back".into(),
    })?;
    Ok((run_files::write(module, &record)?, damaged))
}

/// The numbers and words of a reading, and what stands behind it.
const READING_TAKES: usize = 1200;

/// How much space the readings of a plan will need, generously.
fn space_for(plan: &Plan) -> u64 {
    let readings: usize = plan.steps.iter().map(|step| step.action.readings()).sum();
    (readings * READING_TAKES) as u64
}

impl Listener for Recorder {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        if let Some(captures) = &mut self.captures {
            match event {
                Event::Samples { step, record } => captures.take(step, record),
                Event::Read(reading) => captures.judged(reading.verdict),
                Event::StepEnded { .. } => captures.end_step(),
                _ => {}
            }
        }
        let told = match event {
            Event::Began { plan, jig, started } => self.begin(plan, jig, started),
            Event::Read(reading) => match &mut self.journal {
                Some(journal) => journal.read(reading),
                None => Ok(()),
            },
            Event::StepEnded { .. } => {
                self.steps += 1;
                match &self.journal {
                    Some(journal) => journal.sync(),
                    None => Ok(()),
                }
            }
            Event::Ended(outcome) => return self.end(outcome),
            Event::StepBegan { .. }
            | Event::Asked(_)
            | Event::AskedLamp(_)
            | Event::LoadsRest { .. }
            | Event::StepPutBack { .. }
            | Event::StepAgain { .. }
            | Event::Samples { .. } => Ok(()),
        };
        told.map_err(|error| ListenError(error.to_string()))
    }
}

#[cfg(test)]
#[path = "recorder/tests.rs"]
mod tests;
