//! The captures that are kept of every run: those of steps that did not pass, and those of the last
//! run that passed for the same kind on the same jig, to compare them with.
//!
//! A file of lines of JSON, each compressed by itself (RFC 1952 lets such parts follow one another, so
//! any reader of gzip sees one text): first what the run is of, then a line a capture, at last how many
//! were left out. Beside the report it is written as the run goes on; what the file would take beyond
//! [`MOST`] is left out. A capture is never worth a reading: where it cannot be written, it is let go.

use super::channel_unit::unit_of;
use super::disk::{Disk, DiskFile};
use super::durable;
use super::error::{RecordError, io_error};
use super::facts::Facts;
use super::folder;
use crate::judge::reading::Verdict;
use crate::measure::record::Record;
use flate2::Compression;
use flate2::write::GzEncoder;
use serde::Serialize;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The most bytes of captures in a file.
pub const MOST: usize = 4 << 20;

/// The captures of a run that goes on.
#[derive(Debug)]
pub struct Captures {
    first: Vec<u8>,
    /// Those of the step that goes on, and whether all that was read in it passes.
    step: Vec<Vec<u8>>,
    step_passes: bool,
    /// Those of steps that did not pass.
    objected: Objected,
    /// Those of steps that did, for when the run does.
    passed: Passed,
}

#[derive(Debug)]
struct Objected {
    disk: Disk,
    path: PathBuf,
    file: Option<DiskFile>,
    /// How long the file is.
    end: u64,
    size: usize,
    left_out: usize,
    /// Why no more are written.
    failed: Option<RecordError>,
}

#[derive(Debug)]
struct Passed {
    disk: Disk,
    path: PathBuf,
    parts: Vec<Vec<u8>>,
    size: usize,
    left_out: usize,
}

/// A capture: `value = zero + per_count × count`, in the channel's unit.
#[derive(Serialize)]
struct Capture<'a> {
    step: &'a str,
    first_us: u64,
    interval_us: u32,
    average: u16,
    trigger_us: Option<u64>,
    channels: Vec<Channel<'a>>,
}

#[derive(Serialize)]
struct Channel<'a> {
    channel: u16,
    unit: &'static str,
    skew_us: f64,
    zero: f64,
    per_count: f64,
    counts: &'a [i16],
}

#[derive(Serialize)]
struct Last {
    left_out: usize,
}

impl Captures {
    /// For a run of which these facts are true: `beside` its report those of steps that do not pass, in
    /// `records` those of a run that passes.
    pub fn new(disk: &Disk, beside: PathBuf, records: &Path, facts: &Facts) -> Self {
        Captures {
            first: part(facts),
            step: Vec::new(),
            step_passes: true,
            objected: Objected {
                disk: disk.clone(),
                path: beside,
                file: None,
                end: 0,
                size: 0,
                left_out: 0,
                failed: None,
            },
            passed: Passed {
                disk: disk.clone(),
                path: last_passed(records, facts),
                parts: Vec::new(),
                size: 0,
                left_out: 0,
            },
        }
    }

    /// Takes a capture of the step that goes on.
    pub fn take(&mut self, step: &str, record: &Record) {
        let channels = record.traces.iter().map(|trace| Channel {
            channel: trace.channel,
            unit: unit_of(trace.channel),
            skew_us: trace.skew_us,
            zero: trace.scale.zero,
            per_count: trace.scale.per_count,
            counts: &trace.counts,
        });
        self.step.push(part(&Capture {
            step,
            first_us: record.first_us,
            interval_us: record.interval_us,
            average: record.average,
            trigger_us: record.trigger_us,
            channels: channels.collect(),
        }));
    }

    /// Takes the verdict on a reading of the step that goes on.
    pub fn judged(&mut self, verdict: Verdict) {
        self.step_passes &= verdict == Verdict::Pass;
    }

    /// The step is over.
    pub fn end_step(&mut self) {
        let passes = std::mem::replace(&mut self.step_passes, true);
        for capture in std::mem::take(&mut self.step) {
            if passes {
                self.passed.keep(capture);
            } else {
                self.objected.keep(&self.first, &capture);
            }
        }
    }

    /// The run is over. Where captures could not be kept, why.
    pub fn end(mut self, passes: bool) -> Option<RecordError> {
        // A step that never came to its end did not pass.
        self.step_passes = false;
        self.end_step();
        let kept = if passes { self.passed.write(&self.first) } else { Ok(()) };
        self.objected.close().or(kept.err())
    }
}

impl Passed {
    fn keep(&mut self, capture: Vec<u8>) {
        if self.size + capture.len() > MOST {
            self.left_out += 1;
            return;
        }
        self.size += capture.len();
        self.parts.push(capture);
    }

    fn write(&self, first: &[u8]) -> Result<(), RecordError> {
        // Programs that test the same kind at the same time write the same file.
        let _lock = match self.path.parent() {
            Some(folder) => {
                durable::make_folder(&self.disk, folder)?;
                Some(folder::lock(folder)?)
            }
            None => None,
        };
        let last = part(&Last { left_out: self.left_out });
        durable::replace(&self.disk, &self.path, &[first, &self.parts.concat(), &last].concat())
    }
}

impl Objected {
    fn keep(&mut self, first: &[u8], capture: &[u8]) {
        if self.failed.is_some() || self.size + capture.len() > MOST {
            self.left_out += 1;
            return;
        }
        self.size += capture.len();
        let written = self.open(first).and_then(|()| self.append(capture));
        self.note(written);
    }

    fn open(&mut self, first: &[u8]) -> io::Result<()> {
        if self.file.is_some() {
            return Ok(());
        }
        self.file = Some(self.disk.create(&self.path, true)?);
        self.append(first)
    }

    fn append(&mut self, part: &[u8]) -> io::Result<()> {
        let Some(file) = &self.file else { return Ok(()) };
        file.write(part, self.end)?;
        self.end += part.len() as u64;
        Ok(())
    }

    /// Where it could not be written the file goes: the report needs the space more.
    fn note(&mut self, written: io::Result<()>) {
        if let Err(error) = written {
            if self.file.take().is_some() {
                let _ = self.disk.system().remove(&self.path);
            }
            self.failed = Some(io_error("write", &self.path)(error));
        }
    }

    fn close(mut self) -> Option<RecordError> {
        let last = part(&Last { left_out: self.left_out });
        if self.file.is_some() {
            let closed =
                self.append(&last).and_then(|()| self.file.as_ref().map_or(Ok(()), DiskFile::sync));
            self.note(closed);
        }
        self.failed
    }
}

/// A line of JSON, compressed by itself. It is written out first: the encoder takes far longer over many
/// small pieces than over the whole.
fn part(line: &impl Serialize) -> Vec<u8> {
    // Structs of numbers and texts, written to memory: cannot fail.
    let mut text = serde_json::to_vec(line).unwrap_or_default();
    text.push(b'\n');
    let mut encoder = GzEncoder::new(Vec::new(), Compression::fast());
    let _ = encoder.write_all(&text);
    encoder.finish().unwrap_or_default()
}

/// Where those of the last run that passed lie. The folder's name is none that a lot can have.
fn last_passed(records: &Path, facts: &Facts) -> PathBuf {
    let plain = |text: &str| -> String {
        text.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).take(60).collect()
    };
    let kind = plain(facts.kind.as_deref().unwrap_or("unknown"));
    records.join("_passed").join(format!("{kind}-on-{}.captures.gz", plain(&facts.jig)))
}

#[cfg(test)]
#[path = "captures/tests.rs"]
mod tests;
