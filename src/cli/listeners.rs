//! All that listens to a run, in the right order: first the record, then whoever tells people.

use super::output;
use crate::judge::reading::Reading;
use crate::record::recorder::Recorder;
use crate::record::samples::Samples;
use crate::report::json_lines::{self, Began};
use crate::report::progress::Progress;
use crate::report::summary::Summary;
use crate::run::event::{Event, ListenError, Listener};

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
    /// Tells other programs, where that is wanted.
    pub json: Option<JsonLines>,
}

impl Listener for Listeners {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        let recorded = self.recorder.on_event(event);
        let sampled = match &mut self.samples {
            Some(samples) => samples.on_event(event),
            None => Ok(()),
        };
        self.progress.on_event(event)?;
        self.summary.on_event(event)?;
        if recorded.is_ok()
            && let Some(json) = &mut self.json
        {
            json.on_event(event, &self.recorder);
        }
        recorded.and(sampled)
    }
}

/// Prints a line for each reading that is durable.
#[derive(Debug, Default)]
pub struct JsonLines {
    waiting: Vec<Reading>,
}

impl JsonLines {
    fn on_event(&mut self, event: &Event<'_>, recorder: &Recorder) {
        match event {
            Event::Began { jig, .. } => {
                let Some(facts) = recorder.facts() else { return };
                tell(&json_lines::began(&Began {
                    facts,
                    calibration: jig.calibration.as_ref().map(|c| c.name.as_str()),
                    calibration_days: jig.calibration.as_ref().map(|c| c.days),
                    calibration_too_old: jig.calibration.as_ref().map(|c| c.too_old),
                }));
            }
            Event::Read(reading) => self.waiting.push((*reading).clone()),
            Event::StepEnded { .. } | Event::Ended(_) => {
                let lines: String =
                    self.waiting.drain(..).map(|r| json_lines::reading(&r)).collect();
                tell(&lines);
            }
            Event::StepBegan { .. }
            | Event::Asked(_)
            | Event::AskedLamp(_)
            | Event::LoadsRest { .. }
            | Event::StepPutBack { .. }
            | Event::StepAgain { .. }
            | Event::Samples { .. } => {}
        }
    }
}

/// The record matters more than whoever reads along: a reader that is gone stops no run.
fn tell(lines: &str) {
    let _ = output::data(lines);
}
