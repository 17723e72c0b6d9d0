//! Listens to a run and has what it reads kept: on a thread of its own, so that a slow disk is never in
//! the run's way.

use super::cell;
use super::disk::Disk;
use super::error::RecordError;
use super::facts::{FORMAT, Facts};
use super::folder::{LotFolder, ModuleFolder};
use super::journal::Head;
use super::keeper::{Entry, Keeper, Kept, OnDisk};
use super::queue::Queue;
use super::run_record::{Closing, Planned, RunEnding};
use super::{lot_csv, recover};
use crate::judge::reading::{Reading, Verdict};
use crate::judge::risk::three_digits;
use crate::procedure::self_test::SelfTest;
use crate::run::event::{Ending, Event, JigIdentity, ListenError, Listener, Outcome};
use crate::script::module_sheet::{NUMBERINGS, PositionNames};
use crate::script::plan::{Plan, Wanted};
use crate::signal::target::Format;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

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

/// How many bytes may wait for the disk: the readings and captures of more than the longest run.
const ROOM: usize = 256 << 20;

/// Room that captures leave to readings.
const ROOM_FOR_READINGS: usize = 64 << 20;

/// What a reading takes in memory, generously.
const READING_SIZE: usize = 2048;

/// Words what is the matter with a run that does not pass, from its readings that do not.
pub type Wording = fn(&Outcome, &Said) -> String;

/// What the finding of a run is worded from.
#[derive(Clone, Debug, Default)]
pub struct Said {
    /// The readings that do not pass.
    pub objections: Vec<Reading>,
    /// What the module's positions mean to people.
    pub positions: PositionNames,
    /// Whether the bench is simulated.
    pub is_simulated: bool,
}

/// Has a journal kept while the run goes on, and a report and a row in `lot.csv` left at its end.
#[derive(Debug)]
pub struct Recorder {
    labels: Labels,
    lot: LotFolder,
    module: ModuleFolder,
    queue: Queue<Entry>,
    /// What has become of it so far.
    kept: Arc<Mutex<Kept>>,
    /// How many steps were carried out.
    steps: usize,
    /// Who says what is the matter.
    wording: Option<Wording>,
    /// What that is said from.
    said: Said,
}

impl Recorder {
    /// Makes the folders and checks what can be checked before anything is turned on. `on_disk` is told
    /// of what is durable, as soon as it is.
    ///
    /// # Errors
    /// When a name is not sane, a folder cannot be written, or `lot.csv` is not ours.
    pub fn open(
        records: &Path,
        labels: Labels,
        on_disk: Box<dyn OnDisk>,
    ) -> Result<Self, RecordError> {
        Self::open_on(&Disk::default(), records, labels, on_disk)
    }

    /// The same on another disk.
    ///
    /// # Errors
    /// The same.
    pub fn open_on(
        disk: &Disk,
        records: &Path,
        labels: Labels,
        on_disk: Box<dyn OnDisk>,
    ) -> Result<Self, RecordError> {
        super::names::check("module", &labels.module)?;
        let lot = LotFolder::open_on(disk, records, &labels.lot)?;
        lot_csv::check(&lot)?;
        let module = lot.module(&labels.module)?;
        let kept = Arc::new(Mutex::new(Kept::default()));
        let (folders, its) = ((lot.clone(), module.clone()), Arc::clone(&kept));
        let mut keeper = Keeper::new(records, folders, its, on_disk);
        let queue = Queue::begin(ROOM, move |entry, more| keeper.take(entry, more));
        Ok(Recorder {
            labels,
            lot,
            module,
            queue,
            kept,
            steps: 0,
            wording: None,
            said: Said::default(),
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

    /// Has the finding of the run worded so.
    #[must_use]
    pub fn worded_by(mut self, wording: Wording) -> Self {
        self.wording = Some(wording);
        self
    }

    /// What is the matter, of a run that does not pass.
    fn finding(&self, outcome: &Outcome) -> Option<String> {
        let wording = self.wording.filter(|_| outcome.verdict != Verdict::Pass)?;
        Some(wording(outcome, &self.said))
    }

    /// What the user says about the run.
    pub fn labels(&self) -> &Labels {
        &self.labels
    }

    /// The number of the run, once it has its journal.
    pub fn number(&self) -> Option<u32> {
        self.kept().number
    }

    /// How many readings are durable.
    pub fn durable(&self) -> usize {
        self.kept().durable
    }

    /// What a person should be told at the end, a sentence each.
    pub fn remarks(&self) -> Vec<String> {
        self.kept().remarks.clone()
    }

    /// The finished report, once it is in place.
    pub fn report(&self) -> Option<PathBuf> {
        self.kept().report.clone()
    }

    fn kept(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn give(&self, entry: Entry, size: usize) -> Result<(), ListenError> {
        if self.queue.give(entry, size) {
            return Ok(());
        }
        let why = "the disk is too slow for this run: more waits for it than there is memory for";
        Err(ListenError::Lost(why.into()))
    }

    /// Captures are never worth a reading: without room they are let go.
    fn give_samples(&self, step: &str, record: &crate::measure::record::Record) {
        let counts: usize = record.traces.iter().map(|trace| trace.counts.len()).sum();
        let entry = Entry::Samples { step: step.into(), record: Box::new(record.clone()) };
        let size = READING_SIZE + 2 * counts;
        if !(self.queue.has_room(size + ROOM_FOR_READINGS) && self.queue.give(entry, size)) {
            self.kept().captures_left_out += 1;
        }
    }

    fn begin(
        &mut self,
        plan: &Plan,
        jig: &JigIdentity,
        self_test: &SelfTest,
        started: &jiff::ZonedDateTime,
    ) -> Result<(), ListenError> {
        self.said.positions = plan.module.positions.clone();
        self.said.is_simulated = jig.simulated;
        let head = Head {
            // Its number is known once the folder is locked.
            facts: facts(&self.labels, 0, plan, jig, started),
            planned: Planned { steps: plan.steps.len(), seconds: plan.duration().as_secs_f64() },
            self_test: Some(self_test.clone()),
        };
        let (head, jig) = (Box::new(head), Box::new(jig.clone()));
        self.give(Entry::Began { head, jig, space: space_for(plan) }, 0)
    }

    fn closing(&self, outcome: &Outcome) -> Closing {
        let (ending, reason) = match &outcome.ending {
            Ending::Complete => (RunEnding::Complete, None),
            Ending::EndedEarly(why) => (RunEnding::EndedEarly, Some(why.clone())),
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
            finding: self.finding(outcome),
            suspects: outcome.suspects.clone(),
            address_found: outcome.answers_at.map(|at| at.address),
            command_format_found: outcome.answers_at.map(|at| at.format.to_string()),
            kind_found: outcome
                .kind_found
                .clone()
                .map(|found| [found.kind, found.sheet.name, found.sheet.digest]),
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
        kind: known(&plan.module.kind),
        module_sheet: known(&plan.module.origin.name),
        module_sheet_digest: known(&plan.module.origin.digest),
        load_sheet: loads.map(|origin| origin.name.clone()),
        load_sheet_digest: loads.map(|origin| origin.digest.clone()),
        numbering: numbering.filter(|_| counts_both_ways).map(|(word, _)| (*word).into()),
        address_wanted: address,
        address_found: None,
        command_format_wanted: format.map(|format| format.to_string()),
        command_format_found: None,
    }
}

/// What nobody knows is empty.
fn known(text: &str) -> Option<String> {
    (!text.is_empty()).then(|| text.to_owned())
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
        match event {
            Event::Began { plan, jig, self_test, started } => {
                self.begin(plan, jig, self_test, started)?;
            }
            Event::Samples { step, record } => self.give_samples(step, record),
            Event::Read(reading) => {
                if reading.verdict != Verdict::Pass {
                    self.said.objections.push((*reading).clone());
                }
                self.give(Entry::Read(Box::new((*reading).clone())), READING_SIZE)?;
            }
            Event::StepEnded { .. } => {
                self.steps += 1;
                self.give(Entry::StepEnded, 0)?;
            }
            Event::Ended(outcome) => {
                let closing = Box::new(self.closing(outcome));
                // A roll-call takes no captures.
                let passes = outcome.verdict == Verdict::Pass
                    && closing.ending == RunEnding::Complete
                    && self.steps > 0;
                return self.give(Entry::Ended { closing, passes }, 0);
            }
            Event::StepBegan { .. }
            | Event::Asked(_)
            | Event::AskedLamp(_)
            | Event::SmallLoads(_)
            | Event::Searching(_)
            | Event::LoadsRest { .. }
            | Event::StepPutBack { .. }
            | Event::StepAgain { .. }
            | Event::LookedInto { .. }
            | Event::WaitsForRecord => {}
        }
        self.kept().trouble.take().map_or(Ok(()), Err)
    }

    fn settle(&mut self, patience: Duration) -> Result<bool, ListenError> {
        let settled = self.queue.settle(patience);
        self.kept().trouble.take().map_or(Ok(settled), Err)
    }

    fn leave(&mut self) -> Option<ListenError> {
        self.queue.abandon();
        let kept = self.kept();
        if kept.is_over {
            return None;
        }
        let durable = kept.durable;
        Some(ListenError::Lost(match kept.number {
            Some(run) => format!(
                "nobody waited for the disk any longer: {durable} readings are safe in {}, the others \
                 may be lost; see with `musterbench recover` once the disk is well again",
                self.module.journal(run).display()
            ),
            None => "nobody waited for the disk any longer".into(),
        }))
    }
}

#[cfg(test)]
#[path = "recorder/tests.rs"]
mod tests;
