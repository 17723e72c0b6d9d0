//! Keeps what is read of a run: a journal while it goes on, then a report and a row in `lot.csv`.
//!
//! It works on a thread of its own and may be as slow as the disk. A reading counts as taken once it is
//! durable, and only then is anybody told. What could not be written is written again later; what never
//! can be, is told as lost.

use super::captures::Captures;
use super::error::RecordError;
use super::facts::Facts;
use super::folder::{LotFolder, ModuleFolder};
use super::journal::{Head, Journal};
use super::run_files;
use super::run_record::{Closing, RunSummary};
use super::{aside, lot_csv, recover};
use crate::judge::reading::Reading;
use crate::measure::record::Record;
use crate::run::event::{JigIdentity, ListenError};
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What comes from a run.
#[derive(Debug)]
pub enum Entry {
    /// It begins: its journal is made, and this much space taken.
    Began { head: Box<Head>, jig: Box<JigIdentity>, space: u64 },
    /// A capture.
    Samples { step: String, record: Box<Record> },
    /// A reading.
    Read(Box<Reading>),
    /// A step has ended.
    StepEnded,
    /// It is over.
    Ended { closing: Box<Closing>, passes: bool },
}

/// Whoever is told what is on the disk, once it is.
pub trait OnDisk: Send {
    /// A run has its journal.
    fn began(&mut self, facts: &Facts, jig: &JigIdentity);
    /// Readings are durable.
    fn readings(&mut self, readings: &[Reading]);
}

/// Nobody.
impl OnDisk for () {
    fn began(&mut self, _: &Facts, _: &JigIdentity) {}
    fn readings(&mut self, _: &[Reading]) {}
}

/// What has become of a run so far.
#[derive(Debug, Default)]
pub struct Kept {
    /// Its number, once it has its journal.
    pub number: Option<u32>,
    /// How many readings are durable.
    pub durable: usize,
    /// The finished report.
    pub report: Option<PathBuf>,
    /// What a person should be told at the end.
    pub remarks: Vec<String>,
    /// How many captures there was no memory for.
    pub captures_left_out: usize,
    /// What keeps it from going on.
    pub trouble: Option<ListenError>,
    /// Its end has been worked off.
    pub is_over: bool,
}

/// Keeps a run.
pub struct Keeper {
    records: PathBuf,
    lot: LotFolder,
    module: ModuleFolder,
    journal: Option<Journal>,
    captures: Option<Captures>,
    /// Readings that the journal has not taken yet.
    unwritten: VecDeque<Reading>,
    /// Readings that it has taken, but that are not durable yet.
    written: Vec<Reading>,
    /// What is written shall be made durable.
    sync_is_due: bool,
    kept: Arc<Mutex<Kept>>,
    on_disk: Box<dyn OnDisk>,
}

impl Keeper {
    /// Keeps a run in these folders.
    pub fn new(
        records: &Path,
        (lot, module): (LotFolder, ModuleFolder),
        kept: Arc<Mutex<Kept>>,
        on_disk: Box<dyn OnDisk>,
    ) -> Self {
        Keeper {
            records: records.to_path_buf(),
            lot,
            module,
            journal: None,
            captures: None,
            unwritten: VecDeque::new(),
            written: Vec::new(),
            sync_is_due: false,
            kept,
            on_disk,
        }
    }

    /// Takes an entry. Where `more` of them wait, they may be made durable together.
    pub fn take(&mut self, entry: Entry, more: bool) {
        let done = match entry {
            Entry::Began { head, jig, space } => self.begin(*head, &jig, space).map_err(lost),
            Entry::Samples { step, record } => {
                self.captures.iter_mut().for_each(|captures| captures.take(&step, &record));
                Ok(())
            }
            Entry::Read(reading) => {
                self.captures.iter_mut().for_each(|captures| captures.judged(reading.verdict));
                self.unwritten.push_back(*reading);
                self.write().map_err(lost)
            }
            Entry::StepEnded => {
                self.captures.iter_mut().for_each(Captures::end_step);
                self.sync_is_due = true;
                Ok(())
            }
            Entry::Ended { closing, passes } => {
                let ended = self.end(&closing, passes);
                let mut kept = self.kept();
                kept.is_over = true;
                // What went wrong before has been put right now, or is told again.
                kept.trouble = None;
                ended
            }
        };
        let synced = if self.sync_is_due && !more { self.sync().map_err(lost) } else { Ok(()) };
        if let Err(trouble) = done.and(synced) {
            self.kept().trouble.get_or_insert(trouble);
        }
    }

    fn kept(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn begin(&mut self, head: Head, jig: &JigIdentity, space: u64) -> Result<(), RecordError> {
        let _lock = self.module.lock()?;
        let run = self.module.next_run()?;
        let head = Head { facts: Facts { run, ..head.facts }, ..head };
        let disk = self.module.disk();
        let beside = self.module.captures(run);
        self.captures = Some(Captures::new(disk, beside, &self.records, &head.facts));
        let journal = Journal::create(disk, &self.module.journal(run), head, space)?;
        self.kept().number = Some(run);
        self.on_disk.began(journal.facts(), jig);
        self.journal = Some(journal);
        Ok(())
    }

    /// Has the journal take what it has not taken yet.
    fn write(&mut self) -> Result<(), RecordError> {
        let Some(journal) = &mut self.journal else { return Ok(()) };
        while let Some(reading) = self.unwritten.front() {
            journal.read(reading)?;
            self.written.extend(self.unwritten.pop_front());
        }
        Ok(())
    }

    /// Makes all readings durable, and tells.
    fn sync(&mut self) -> Result<(), RecordError> {
        self.write()?;
        let Some(journal) = &mut self.journal else { return Ok(()) };
        let synced = journal.sync();
        self.sync_is_due = false;
        self.settle(synced)
    }

    /// Tells of what is durable; what is not has to be written again.
    fn settle(&mut self, synced: Result<(), RecordError>) -> Result<(), RecordError> {
        let written = std::mem::take(&mut self.written);
        if synced.is_ok() {
            self.kept().durable += written.len();
            self.on_disk.readings(&written);
        } else {
            written.into_iter().rev().for_each(|reading| self.unwritten.push_front(reading));
        }
        synced
    }

    fn end(&mut self, closing: &Closing, passes: bool) -> Result<(), ListenError> {
        // Once more, where it went wrong before. The readings first: they are worth more.
        let written = self.sync().or_else(|_| self.sync());
        // A run that never began has nothing to keep.
        let Some(mut journal) = self.journal.take() else { return Ok(()) };
        let (durable, lost) = (self.kept().durable, self.unwritten.len());
        written.map_err(|error| {
            ListenError::Lost(format!(
                "{error}; readings that could not be kept: {lost}, safe in {}: {durable}",
                journal.path().display()
            ))
        })?;
        let finished = finish(&mut journal, closing, &self.module);
        let (run, was_damaged) = finished.map_err(|error| {
            ListenError::Unfinished(format!(
                "{error}; the readings are safe in {}: make room, then finish the report with \
                 `musterbench recover`",
                journal.path().display()
            ))
        })?;
        let report = self.module.report(run.facts.run);
        self.kept().report = Some(report.clone());
        self.end_captures(passes);
        self.list(&run, &journal, was_damaged).map_err(|error| {
            ListenError::Unfinished(format!(
                "{error}; the report is whole ({}), but {} does not list it: put that right, then \
                 rebuild it with `musterbench recover`",
                report.display(),
                self.lot.lot_csv().display()
            ))
        })
    }

    /// Only when the report is in place: that needs the space more.
    fn end_captures(&mut self, passes: bool) {
        let error = self.captures.take().and_then(|captures| captures.end(passes));
        let mut kept = self.kept();
        if let Some(error) = error {
            kept.remarks.push(format!("captures could not all be kept: {error}"));
        }
        if kept.captures_left_out > 0 {
            let n = kept.captures_left_out;
            kept.remarks
                .push(format!("captures could not all be kept: the disk was too slow for {n}"));
        }
    }

    /// Lists the run in `lot.csv`; then its journal is not needed any more.
    fn list(
        &self,
        run: &RunSummary,
        journal: &Journal,
        was_damaged: bool,
    ) -> Result<(), RecordError> {
        if let Some(aside) = lot_csv::append(&self.lot, run)? {
            self.kept().remarks.push(format!(
                "lot.csv was damaged, or of an older format: it was rebuilt from the reports, and the \
                 old one kept as {}",
                aside.display()
            ));
        }
        let disk = self.module.disk();
        if was_damaged {
            aside::keep(disk, journal.path()).map(drop)
        } else {
            recover::remove(disk, journal.path())
        }
    }
}

fn lost(error: RecordError) -> ListenError {
    ListenError::Lost(error.to_string())
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
