//! The journal of a run that goes on.
//!
//! A line of text that says what the file is, then frames, then zeros to the end of the space that
//! was taken beforehand. A frame is
//!
//! ```text
//! length of the payload   u32, little-endian
//! CRC-32 (ISO-HDLC)       u32, little-endian, over all that follows and the length
//! kind                    u8: F facts, R reading, C closing
//! payload                 a line of the report, as it will stand there; for F its first cells
//! ```
//!
//! A frame counts only when its CRC is right and all before it count. The journal holds the lines
//! themselves, so a recovered report has the very bytes that the run would have written.

use super::error::{RecordError, io_error};
use super::report_csv::{self, Closing, Facts, closing_line, reading_line};
use super::table::{self, Table};
use super::{durable, space};
use crate::judge::reading::Reading;
use crate::judge::summary::Summary as Tally;
use crc::{CRC_32_ISO_HDLC, Crc};
use std::fs::{File, OpenOptions};
use std::io;
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};

const FIRST_LINE: &[u8] = b"musterbench journal 1\n";
const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
const FRAME_HEAD: usize = 9;

/// No payload is longer; a longer length is damage.
const LONGEST: usize = 1 << 20;

/// Space that readings never use, so that the closing always fits.
const CLOSING_SPACE: u64 = 4096;

/// How much is taken at a time when a run reads more than was foreseen.
const GROWTH: u64 = 64 * 1024;

/// A journal that is being written. The file is locked as long as this lives, so that nobody
/// recovers it meanwhile.
#[derive(Debug)]
pub struct Journal {
    path: PathBuf,
    file: File,
    facts: Facts,
    end: u64,
    reserved: u64,
    tally: Tally,
}

impl Journal {
    /// Makes the file, takes `space` bytes on the disk, writes the facts and makes all durable.
    ///
    /// # Errors
    /// When the system refuses; then no file is left.
    pub fn create(path: &Path, facts: Facts, space: u64) -> Result<Self, RecordError> {
        let file = OpenOptions::new()
            .read(true)
            .write(true)
            .create_new(true)
            .open(path)
            .map_err(io_error("write", path))?;
        let mut journal = Journal {
            path: path.to_path_buf(),
            file,
            facts,
            end: 0,
            reserved: 0,
            tally: Tally::default(),
        };
        let begun = journal.begin(space);
        if begun.is_err() {
            let _ = std::fs::remove_file(path);
        }
        begun.map_err(io_error("take space for", path))?;
        durable::sync_folder_of(path)?;
        Ok(journal)
    }

    fn begin(&mut self, space: u64) -> io::Result<()> {
        self.file.lock()?;
        self.take_space(space + CLOSING_SPACE)?;
        self.file.write_all_at(FIRST_LINE, 0)?;
        self.end = FIRST_LINE.len() as u64;
        self.frame(b'F', &table::row_line(&self.facts))?;
        self.file.sync_all()
    }

    /// Writes a reading. It survives the end of this process from now on, and a power cut from the
    /// next [`Self::sync`] on.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn read(&mut self, reading: &Reading) -> Result<(), RecordError> {
        let line = reading_line(&self.facts, reading);
        let needed = self.end + (FRAME_HEAD + line.len()) as u64 + CLOSING_SPACE;
        if needed > self.reserved {
            self.take_space(needed - self.reserved + GROWTH)
                .map_err(io_error("take more space for", &self.path))?;
        }
        self.frame(b'R', &line).map_err(io_error("write", &self.path))?;
        self.tally.add(reading);
        Ok(())
    }

    /// Makes durable what was written.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn sync(&self) -> Result<(), RecordError> {
        self.file.sync_data().map_err(io_error("write", &self.path))
    }

    /// Writes how the run came out and makes all durable.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn close(&mut self, closing: &Closing) -> Result<(), RecordError> {
        let line = closing_line(&self.facts, closing);
        self.frame(b'C', &line).map_err(io_error("write", &self.path))?;
        self.sync()
    }

    /// What is in it, read back from the file.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn contents(&self) -> Result<Contents, RecordError> {
        contents(&self.file, &self.path)
    }

    /// What was counted so far.
    pub fn tally(&self) -> &Tally {
        &self.tally
    }

    /// The facts of its run.
    pub fn facts(&self) -> &Facts {
        &self.facts
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn take_space(&mut self, bytes: u64) -> io::Result<()> {
        space::reserve(&self.file, self.reserved, bytes)?;
        self.reserved += bytes;
        Ok(())
    }

    fn frame(&mut self, kind: u8, payload: &[u8]) -> io::Result<()> {
        let frame = encode(kind, payload);
        self.file.write_all_at(&frame, self.end)?;
        self.end += frame.len() as u64;
        Ok(())
    }
}

fn checksum(length: [u8; 4], rest: &[u8]) -> u32 {
    let mut digest = CRC.digest();
    digest.update(&length);
    digest.update(rest);
    digest.finalize()
}

fn encode(kind: u8, payload: &[u8]) -> Vec<u8> {
    let length = (payload.len() as u32).to_le_bytes();
    let mut rest = Vec::with_capacity(1 + payload.len());
    rest.push(kind);
    rest.extend_from_slice(payload);
    let crc = checksum(length, &rest).to_le_bytes();
    [&length, &crc, rest.as_slice()].concat()
}

/// Takes the first frame off: its kind, its payload, and what comes after it.
fn decode(bytes: &[u8]) -> Option<(u8, &[u8], &[u8])> {
    let (length, rest) = bytes.split_first_chunk::<4>()?;
    let (crc, rest) = rest.split_first_chunk::<4>()?;
    let size = u32::from_le_bytes(*length) as usize;
    if size > LONGEST {
        return None;
    }
    let (framed, after) = rest.split_at_checked(1 + size)?;
    if checksum(*length, framed) != u32::from_le_bytes(*crc) {
        return None;
    }
    let (kind, payload) = framed.split_first()?;
    Some((*kind, payload, after))
}

/// What a journal holds.
#[derive(Clone, Debug, Default)]
pub struct Contents {
    /// The facts of the run; `None` when it never got so far.
    pub facts: Option<Facts>,
    /// The lines of its readings.
    pub readings: Vec<u8>,
    /// The closing line; `None` when the run was cut off.
    pub closing: Option<Vec<u8>>,
    /// The readings, counted.
    pub tally: Tally,
}

impl Contents {
    /// The whole report; where the closing line is missing, the run is closed as cut short for the
    /// reason given. `None` when there is nothing to report.
    pub fn report(&self, why: &str) -> Option<Vec<u8>> {
        let facts = self.facts.as_ref()?;
        let mut report = report_csv::header();
        report.extend_from_slice(&self.readings);
        match &self.closing {
            Some(line) => report.extend_from_slice(line),
            None => {
                report.extend(closing_line(facts, &report_csv::cut_short(&self.tally, why)));
            }
        }
        Some(report)
    }
}

/// Reads a journal.
///
/// # Errors
/// When it cannot be read, or is no journal.
pub fn contents(file: &File, path: &Path) -> Result<Contents, RecordError> {
    let length = file.metadata().map_err(io_error("read", path))?.len();
    let mut bytes = vec![0; length as usize];
    file.read_exact_at(&mut bytes, 0).map_err(io_error("read", path))?;
    parse(&bytes).ok_or_else(|| RecordError::Damaged {
        path: path.to_path_buf(),
        why: "it is no journal that this version knows".into(),
    })
}

/// Reads the bytes of a journal: all frames up to the first that is not whole. `None` when it is no
/// journal, or a frame that is whole makes no sense: then nobody should touch it.
fn parse(bytes: &[u8]) -> Option<Contents> {
    let mut contents = Contents::default();
    let Some(mut rest) = bytes.strip_prefix(FIRST_LINE) else {
        // Cut off before its first line was on the disk: empty, or reserved and never written.
        return bytes.iter().all(|b| *b == 0).then_some(contents);
    };
    while let Some((kind, payload, after)) = decode(rest) {
        match (kind, &contents.facts, &contents.closing) {
            (b'F', None, None) => contents.facts = Some(read_facts(payload)?),
            (b'R', Some(_), None) => contents.readings.extend_from_slice(payload),
            (b'C', Some(_), None) => contents.closing = Some(payload.to_vec()),
            _ => break,
        }
        rest = after;
    }
    contents.tally = report_csv::tally(&contents.readings)?;
    Some(contents)
}

/// The facts; `None` when the line holds others.
fn read_facts(payload: &[u8]) -> Option<Facts> {
    let table = Table::read(&[&table::header(&Facts::default()), payload].concat()).ok()?;
    table.rows().next()?.read().ok()
}

#[cfg(test)]
#[path = "journal/tests.rs"]
mod tests;
