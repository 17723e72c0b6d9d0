//! All that listens to a run, in the right order: first the record, then whoever tells people.

use super::command_result::CommandError;
use super::output;
use super::recover::finish_earlier;
use crate::judge::reading::Reading;
use crate::plain::plain;
use crate::record::OnDisk;
use crate::record::facts::Facts;
use crate::record::recorder::{Labels, Recorder, Said};
use crate::record::samples::Samples;
use crate::report::finding::finding;
use crate::report::json_lines::{self, Began};
use crate::report::progress::Progress;
use crate::report::summary::Summary;
use crate::run::event::{Event, JigIdentity, ListenError, Listener, Outcome};
use core::time::Duration;
use std::path::Path;

/// The listeners of a run.
#[derive(Debug)]
pub struct Listeners {
    /// Keeps what is read.
    pub recorder: Recorder,
    /// Keeps the samples, where that is wanted.
    pub samples: Option<Samples>,
    /// Shows how far the run is, where nobody else does.
    pub progress: Option<Progress>,
    /// Collects what the summary needs.
    pub summary: Summary,
}

impl Listeners {
    /// Those of a run: its record in this folder, and its samples where that is wanted. What an earlier run of the
    /// module has left unfinished is finished first, and told.
    ///
    /// # Errors
    /// When the records cannot be written.
    pub fn open(
        records: &Path,
        labels: Labels,
        on_disk: Box<dyn OnDisk>,
        samples: Option<&Path>,
    ) -> Result<Self, CommandError> {
        let recorder = Recorder::open(records, labels, on_disk)?.worded_by(sentence_of);
        finish_earlier(&recorder)?;
        Ok(Listeners {
            recorder,
            samples: samples.map(Samples::open).transpose()?,
            progress: Some(Progress::default()),
            summary: Summary::default(),
        })
    }

    /// The run is over: what went wrong at the very end is known only now, and only what is on the disk is shown.
    pub fn end(&mut self, outcome: &Outcome) {
        self.recorder.remarks().iter().for_each(|remark| output::tell(&plain(remark)));
        self.summary.outcome = Some(outcome.clone());
        self.summary.keep_only(self.recorder.durable());
    }
}

/// What is the matter with a run, for its record.
fn sentence_of(outcome: &Outcome, said: &Said) -> String {
    finding(outcome, &said.objections, &said.positions, said.is_simulated).sentence
}

impl Listener for Listeners {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        let recorded = self.recorder.on_event(event);
        let sampled = match &mut self.samples {
            Some(samples) => samples.on_event(event),
            None => Ok(()),
        };
        SlowDisk.on_event(event)?;
        self.progress.as_mut().map_or(Ok(()), |progress| progress.on_event(event))?;
        self.summary.on_event(event)?;
        recorded.and(sampled)
    }

    fn settle(&mut self, patience: Duration) -> Result<bool, ListenError> {
        let recorded = self.recorder.settle(patience)?;
        let sampled = match &mut self.samples {
            Some(samples) => samples.settle(patience)?,
            None => true,
        };
        Ok(recorded && sampled)
    }

    fn leave(&mut self) -> Option<ListenError> {
        let recorded = self.recorder.leave();
        recorded.or(self.samples.as_mut().and_then(Samples::leave))
    }
}

/// Tells a person what is waited for.
#[derive(Debug)]
pub struct SlowDisk;

impl Listener for SlowDisk {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        if let Event::WaitsForRecord = event {
            output::tell(SLOW);
        }
        Ok(())
    }
}

/// What a person is told who waits for the disk.
const SLOW: &str = "The disk is slow: the feed is off, and the program waits until the record is safe on \
                    it. Ctrl-C ends the waiting.";

/// Prints a line for each reading that is durable.
#[derive(Debug, Default)]
pub struct JsonLines;

impl OnDisk for JsonLines {
    fn began(&mut self, facts: &Facts, jig: &JigIdentity) {
        tell(&json_lines::began(&Began {
            facts,
            calibration: jig.calibration.as_ref().map(|c| c.name.as_str()),
            calibration_days: jig.calibration.as_ref().map(|c| c.days),
            calibration_too_old: jig.calibration.as_ref().map(|c| c.too_old),
        }));
    }

    fn readings(&mut self, readings: &[Reading]) {
        let lines: String = readings.iter().map(json_lines::reading).collect();
        tell(&lines);
    }
}

/// The record matters more than whoever reads along: a reader that is gone stops no run.
fn tell(lines: &str) {
    let _ = output::data(lines);
}
