//! The raw samples of a run, one CSV file a capture, for whoever wants to look closer.

use super::channel_unit::unit_of;
use super::disk::Disk;
use super::error::{RecordError, io_error};
use super::queue::Queue;
use super::{cell, durable, table};
use crate::measure::record::Record;
use crate::run::event::{Event, ListenError, Listener};
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// How many bytes of captures may wait for the disk.
const ROOM: usize = 256 << 20;

/// Writes every capture to a file of its own, on a thread of its own.
#[derive(Debug)]
pub struct Samples {
    queue: Queue<(String, Box<Record>)>,
    /// Why one could not be written.
    failed: Arc<Mutex<Option<ListenError>>>,
}

#[derive(Debug)]
struct Files {
    folder: PathBuf,
    written: usize,
}

impl Samples {
    /// Makes the folder. It has to be empty, so that captures of two runs never mix.
    ///
    /// # Errors
    /// When it cannot be made or read, or holds something.
    pub fn open(folder: &Path) -> Result<Self, RecordError> {
        durable::make_folder(&Disk::default(), folder)?;
        let mut entries = std::fs::read_dir(folder).map_err(io_error("read", folder))?;
        if entries.next().is_some() {
            return Err(RecordError::NotEmpty { path: folder.to_path_buf() });
        }
        let mut files = Files { folder: folder.to_path_buf(), written: 0 };
        let failed = Arc::new(Mutex::new(None));
        let its = Arc::clone(&failed);
        let write = move |(step, record): (String, Box<Record>), _| {
            if let Err(error) = files.write(&step, &record) {
                let mut failed = its.lock().unwrap_or_else(PoisonError::into_inner);
                failed.get_or_insert(ListenError::Lost(error.to_string()));
            }
        };
        Ok(Samples { queue: Queue::begin(ROOM, write), failed })
    }

    fn failed(&self) -> Option<ListenError> {
        self.failed.lock().unwrap_or_else(PoisonError::into_inner).take()
    }
}

impl Files {
    fn write(&mut self, step: &str, record: &Record) -> Result<(), RecordError> {
        self.written += 1;
        let path = self.folder.join(format!("{:04}-{}.csv", self.written, slug(step)));
        let written = File::create_new(&path).map(BufWriter::new).and_then(|mut file| {
            write_record(&mut file, record)?;
            file.flush()
        });
        written.map_err(io_error("write", &path))
    }
}

/// The times are those of the scan; a channel's own time is `skew` later, which its heading says.
fn write_record(into: &mut impl Write, record: &Record) -> std::io::Result<()> {
    let heading = |channel: u16, skew_us: f64| {
        let skew = cell::number(Some(skew_us / 1e6));
        format!("channel {channel} ({}; skew {skew} s)", unit_of(channel))
    };
    let headings = record.traces.iter().map(|t| heading(t.channel, t.skew_us));
    into.write_all(&table::line(std::iter::once("time (s)".to_string()).chain(headings)))?;
    let scans = record.traces.iter().map(|t| t.counts.len()).max().unwrap_or(0);
    let mut row = String::new();
    for scan in 0..scans {
        row.clear();
        row.push_str(&cell::number(Some(record.time_us(scan) / 1e6)));
        for trace in &record.traces {
            row.push(',');
            // No more digits than the converter has.
            let value = trace.value(scan).map(|value| value as f32);
            row.push_str(&value.map(|value| value.to_string()).unwrap_or_default());
        }
        row.push_str("\r\n");
        into.write_all(row.as_bytes())?;
    }
    Ok(())
}

/// A step's name as part of a file name.
fn slug(name: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    let dashed: String = name.chars().map(plain).take(60).collect();
    let words: Vec<&str> = dashed.split('-').filter(|w| !w.is_empty()).collect();
    if words.is_empty() { "step".into() } else { words.join("-") }
}

impl Listener for Samples {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        if let Event::Samples { step, record } = event {
            let counts: usize = record.traces.iter().map(|trace| trace.counts.len()).sum();
            if !self.queue.give(((*step).into(), Box::new((*record).clone())), 2 * counts) {
                let why = "the disk is too slow for the samples: run without --samples";
                return Err(ListenError::Lost(why.into()));
            }
        }
        self.failed().map_or(Ok(()), Err)
    }

    fn settle(&mut self, patience: Duration) -> Result<bool, ListenError> {
        let settled = self.queue.settle(patience);
        self.failed().map_or(Ok(settled), Err)
    }

    fn leave(&mut self) -> Option<ListenError> {
        let is_done = self.queue.settle(Duration::ZERO);
        self.queue.abandon();
        let why = "nobody waited for the disk any longer: samples are missing";
        (!is_done).then(|| ListenError::Lost(why.into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::channel_class::ChannelClass;
    use crate::measure::record::Trace;
    use crate::measure::scale::{Ends, Scale};

    #[test]
    fn a_capture_becomes_a_file_with_its_times() {
        let folder = tempfile::tempdir().expect("a folder");
        let at = folder.path().join("samples");
        let mut samples = Samples::open(&at).expect("made");
        let trace = |channel, skew_us, counts: &[i16]| Trace {
            channel,
            skew_us,
            counts: counts.to_vec(),
            scale: Scale { zero: 0.0, per_count: 0.1 },
            ends: Ends::NONE,
            class: ChannelClass::default(),
        };
        let record = Record {
            first_us: 1_000,
            interval_us: 200,
            average: 1,
            trigger_us: Some(1_300),
            traces: vec![trace(101, 0.0, &[1, -5]), trace(2, 2.5, &[0, 3])],
        };
        samples
            .on_event(&Event::Samples { step: "Output 2 to b / \u{1b}[31m", record: &record })
            .expect("given");
        assert!(samples.settle(Duration::from_secs(60)).expect("written"));
        let text = std::fs::read_to_string(at.join("0001-output-2-to-b-31m.csv")).expect("there");
        assert_eq!(
            text,
            "time (s),channel 101 (A; skew 0 s),channel 2 (A; skew 0.0000025 s)\r\n\
             -0.0003,0.1,0\r\n-0.0001,-0.5,0.3\r\n"
        );
        assert!(Samples::open(&at).expect_err("not empty").is_bad_input());
    }

    #[test]
    fn names_without_letters_still_make_a_file_name() {
        assert_eq!(slug("../../"), "step");
        assert_eq!(slug("Lamp: rhythm"), "lamp-rhythm");
    }
}
