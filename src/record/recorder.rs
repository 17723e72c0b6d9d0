//! Listens to a run and keeps what it reads.

use super::durable;
use super::error::RecordError;
use super::folder::{LotFolder, ModuleFolder};
use super::journal::Journal;
use super::report_csv::{self, COMPLETE, CUT_SHORT, Closing, Facts};
use super::{cell, lot_csv, recover, table};
use crate::run::event::{Ending, Event, JigIdentity, ListenError, Listener, Outcome};
use crate::script::plan::Plan;
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
    journal: Option<Journal>,
    number: Option<u32>,
    report: Option<PathBuf>,
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
        Ok(Recorder { labels, lot, module, journal: None, number: None, report: None })
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
        let facts = Facts {
            module: self.labels.module.clone(),
            lot: self.labels.lot.clone(),
            run,
            started: cell::time(started),
            operator: self.labels.operator.clone(),
            jig: jig.serial.clone(),
            firmware: jig.firmware.clone(),
            simulated: jig.simulated,
            script: plan.script.clone(),
        };
        let space = space_for(plan, &facts);
        self.journal = Some(Journal::create(&self.module.journal(run), facts, space)?);
        self.number = Some(run);
        Ok(())
    }

    fn end(&mut self, outcome: &Outcome) -> Result<(), ListenError> {
        // A run that never began has nothing to keep.
        let Some(mut journal) = self.journal.take() else { return Ok(()) };
        let report = self.module.report(journal.facts().run);
        let finished = finish(&mut journal, outcome, &report);
        finished.map_err(|error| {
            ListenError(format!(
                "{error}; the readings are safe in {}: make room, then finish the report with \
                 `musterbench recover`",
                journal.path().display()
            ))
        })?;
        self.report = Some(report.clone());
        let listed = report_csv::summary(&report).and_then(|run| {
            lot_csv::append(&self.lot, &run)?;
            recover::remove(journal.path())
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
}

fn finish(journal: &mut Journal, outcome: &Outcome, report: &Path) -> Result<(), RecordError> {
    let note = match &outcome.ending {
        Ending::Complete => COMPLETE.into(),
        Ending::Stopped => format!("{CUT_SHORT}stopped by the operator"),
        Ending::BenchTrouble(why) => format!("{CUT_SHORT}{why}"),
    };
    let readings = journal.tally().readings;
    journal.close(&Closing { verdict: outcome.verdict, blame: outcome.blame, readings, note })?;
    // What the report says is what is on the disk, not what is in memory.
    let bytes = journal.contents()?.report(recover::WHY).ok_or_else(|| RecordError::Damaged {
        path: journal.path().to_path_buf(),
        why: "what was written cannot be read back".into(),
    })?;
    durable::replace(report, &bytes)
}

/// How much space the readings of a plan will need, generously.
fn space_for(plan: &Plan, facts: &Facts) -> u64 {
    let facts = table::row_line(facts).len();
    // The numbers and words of a reading, and a note of usual length.
    let row = |name: &str| facts + name.len() + 300;
    plan.steps.iter().map(|step| (step.action.readings() * row(&step.name)) as u64).sum()
}

impl Listener for Recorder {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        let told = match event {
            Event::Began { plan, jig, started } => self.begin(plan, jig, started),
            Event::Read(reading) => match &mut self.journal {
                Some(journal) => journal.read(reading),
                None => Ok(()),
            },
            Event::StepEnded { .. } => match &self.journal {
                Some(journal) => journal.sync(),
                None => Ok(()),
            },
            Event::Ended(outcome) => return self.end(outcome),
            Event::StepBegan { .. }
            | Event::Asked(_)
            | Event::AskedLamp(_)
            | Event::Samples { .. } => Ok(()),
        };
        told.map_err(|error| ListenError(error.to_string()))
    }
}

#[cfg(test)]
#[path = "recorder/tests.rs"]
mod tests;
