//! The journal of a run that goes on.
//!
//! A line of text that says what the file is, then frames, then zeros to the end of the space that
//! was taken beforehand. A frame is
//!
//! ```text
//! mark                    89 4D 42 4A 0D 0A 1A 0A
//! number                  u32, little-endian, from 0
//! length of the payload   u32, little-endian
//! CRC-32 (ISO-HDLC)       u32, little-endian, over number, length, kind and payload
//! kind                    u8: F facts, R reading, C closing
//! payload                 JSON
//! ```
//!
//! The facts stand in two frames, so that one flipped bit loses nothing of them. A frame that is
//! damaged loses only itself: the next one is found by its mark.

mod contents;
mod frame;

pub use contents::{Contents, parse};
pub use frame::{Frame, encode};

use super::disk::{Disk, DiskFile};
use super::durable;
use super::error::{RecordError, io_error};
use super::facts::Facts;
use super::row::KeptReading;
use super::run_record::{Closing, Planned};
use crate::judge::reading::Reading;
use crate::procedure::self_test::SelfTest;
use crate::system::files;
use contents::COPIES;
use frame::HEAD;
use serde::{Deserialize, Serialize};
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

/// What a journal begins with.
pub const FIRST_LINE: &[u8] = b"musterbench journal 2\n";

const FACTS: u8 = b'F';
const READING: u8 = b'R';
const CLOSING: u8 = b'C';

/// Space that readings never use, so that the closing always fits.
const CLOSING_SPACE: u64 = 4096;

/// How much is taken at a time when a run reads more than was foreseen.
const GROWTH: u64 = 64 * 1024;

/// What a journal begins with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Head {
    /// What is true of the whole run.
    pub facts: Facts,
    /// What the plan asks for.
    pub planned: Planned,
    /// What the jig said of itself before it began.
    #[serde(default)]
    pub self_test: Option<SelfTest>,
}

/// A journal that is being written. The file is locked as long as this lives, so that nobody
/// recovers it meanwhile.
#[derive(Debug)]
pub struct Journal {
    path: PathBuf,
    file: DiskFile,
    head: Head,
    reserved: u64,
    written: Reach,
    durable: Reach,
}

/// How far a journal goes.
#[derive(Clone, Copy, Debug, Default)]
struct Reach {
    end: u64,
    frames: u32,
}

impl Journal {
    /// Makes the file, takes `space` bytes on the disk, writes the facts and makes all durable. Take the
    /// lock of the folder first.
    ///
    /// # Errors
    /// When the system refuses; then no file is left.
    pub fn create(disk: &Disk, path: &Path, head: Head, space: u64) -> Result<Self, RecordError> {
        let part = durable::part_of(path);
        let file = disk.create(&part, false).map_err(io_error("write", path))?;
        let (written, durable) = (Reach::default(), Reach::default());
        let mut journal =
            Journal { path: path.to_path_buf(), file, head, reserved: 0, written, durable };
        // Under its name it is whole from the beginning, also after a power cut.
        let begun = journal.begin(space).and_then(|()| journal.file.rename(path));
        if begun.is_err() {
            let _ = disk.system().remove(&part);
        }
        begun.map_err(io_error("take space for", path))?;
        durable::sync_folder_of(disk, path)?;
        Ok(journal)
    }

    fn begin(&mut self, space: u64) -> io::Result<()> {
        self.file.file().lock()?;
        self.take_space(space + CLOSING_SPACE)?;
        self.file.write(FIRST_LINE, 0)?;
        self.written.end = FIRST_LINE.len() as u64;
        let head = serde_json::to_vec(&self.head)?;
        for _ in 0..COPIES {
            self.frame(FACTS, &head)?;
        }
        self.file.sync()?;
        self.durable = self.written;
        Ok(())
    }

    /// Writes a reading. It survives the end of this process from now on, and a power cut from the
    /// next [`Self::sync`] on.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn read(&mut self, reading: &Reading) -> Result<(), RecordError> {
        let kept = KeptReading::of(reading)
            .to_json()
            .map_err(io::Error::from)
            .map_err(io_error("write", &self.path))?;
        let needed = self.written.end + (HEAD + kept.len()) as u64 + CLOSING_SPACE;
        if needed > self.reserved {
            self.take_space(needed - self.reserved + GROWTH)
                .map_err(io_error("take more space for", &self.path))?;
        }
        self.frame(READING, &kept).map_err(io_error("write", &self.path))
    }

    /// Makes durable what was written.
    ///
    /// # Errors
    /// When the system refuses. Nobody knows then what of it is on the disk, and asking again would tell
    /// nothing: all that was written since the last time has to be written again.
    pub fn sync(&mut self) -> Result<(), RecordError> {
        let synced = self.file.sync();
        match &synced {
            Ok(()) => self.durable = self.written,
            Err(_) => self.written = self.durable,
        }
        synced.map_err(io_error("write", &self.path))
    }

    /// Writes how the run came out and makes all durable.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn close(&mut self, closing: &Closing) -> Result<(), RecordError> {
        let written = serde_json::to_vec(closing)
            .map_err(io::Error::from)
            .and_then(|closing| self.frame(CLOSING, &closing));
        written.map_err(io_error("write", &self.path))?;
        self.sync()
    }

    /// What is in it, read back from the file.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn contents(&self) -> Result<Contents, RecordError> {
        contents(self.file.file(), &self.path)
    }

    /// The facts of its run.
    pub fn facts(&self) -> &Facts {
        &self.head.facts
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn take_space(&mut self, bytes: u64) -> io::Result<()> {
        self.file.reserve(self.reserved, bytes)?;
        self.reserved += bytes;
        Ok(())
    }

    fn frame(&mut self, kind: u8, payload: &[u8]) -> io::Result<()> {
        let Reach { end, frames } = self.written;
        let frame = encode(&Frame { number: frames, kind, payload });
        self.file.write(&frame, end)?;
        self.written = Reach { end: end + frame.len() as u64, frames: frames + 1 };
        Ok(())
    }
}

/// Reads a journal.
///
/// # Errors
/// When it cannot be read, or is no journal.
pub fn contents(file: &File, path: &Path) -> Result<Contents, RecordError> {
    contents_of(&bytes(file, path)?, path)
}

/// The bytes of a file, through this very handle: where locks bind everybody, no other may read it.
///
/// # Errors
/// When it cannot be read.
pub fn bytes(file: &File, path: &Path) -> Result<Vec<u8>, RecordError> {
    let length = file.metadata().map_err(io_error("read", path))?.len();
    let mut bytes = vec![0; length as usize];
    files::read_at(file, &mut bytes, 0).map_err(io_error("read", path))?;
    Ok(bytes)
}

/// What the bytes of a journal hold.
///
/// # Errors
/// When they are of no journal.
pub fn contents_of(bytes: &[u8], path: &Path) -> Result<Contents, RecordError> {
    parse(bytes).ok_or_else(|| RecordError::Damaged {
        path: path.to_path_buf(),
        why: "it is no journal that this version knows".into(),
    })
}

#[cfg(test)]
#[path = "journal/tests.rs"]
mod tests;
