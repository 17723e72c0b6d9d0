//! All that listens to a run, in the right order: first the record, then whoever tells people.

use super::output;
use crate::judge::reading::Reading;
use crate::record::OnDisk;
use crate::record::facts::Facts;
use crate::record::recorder::Recorder;
use crate::record::samples::Samples;
use crate::report::json_lines::{self, Began};
use crate::report::progress::Progress;
use crate::report::summary::Summary;
use crate::run::event::{Event, JigIdentity, ListenError, Listener};
use core::time::Duration;

/// The listeners of a run.
#[derive(Debug)]
pub struct Listeners {
    /// Keeps what is read.
    pub recorder: Recorder,
    /// Keeps the samples, where that is wanted.
    pub samples: Option<Samples>,
    /// Shows how far the run is.
    pub progress: Progress,
    /// Collects what the summary needs.
    pub summary: Summary,
}

impl Listener for Listeners {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        let recorded = self.recorder.on_event(event);
        let sampled = match &mut self.samples {
            Some(samples) => samples.on_event(event),
            None => Ok(()),
        };
        SlowDisk.on_event(event)?;
        self.progress.on_event(event)?;
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
