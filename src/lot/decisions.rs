//! `decisions.jsonl`: a line a decision, only ever added to.
//!
//! Each line carries the CRC-32 (ISO-HDLC) of itself as if that key were not there, so that one damaged byte costs one line
//! and is told. What was cut off by a crash is a damaged line too.

use super::decision::Decision;
use super::error::LotError;
use crate::record::RecordError;
use crate::record::folder::LotFolder;
use crc::{CRC_32_ISO_HDLC, Crc};
use serde::{Deserialize, Serialize};
use std::io;
use std::path::PathBuf;

/// The file's name, in the folder of the lot.
pub const FILE: &str = "decisions.jsonl";

const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// A line of the file.
#[derive(Serialize, Deserialize)]
struct Line {
    #[serde(flatten)]
    decision: Decision,
    crc32: String,
}

/// What the file holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Decisions {
    /// The decisions, in the order in which they were made.
    pub all: Vec<Decision>,
    /// The numbers of the lines that are damaged.
    pub damaged: Vec<usize>,
}

/// The path of the file.
pub fn path(folder: &LotFolder) -> PathBuf {
    folder.path().join(FILE)
}

/// Reads the file; none at all holds no decisions.
///
/// # Errors
/// When it cannot be read.
pub fn read(folder: &LotFolder) -> Result<Decisions, LotError> {
    let path = path(folder);
    let bytes = match std::fs::read(&path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Decisions::default()),
        Err(source) => return Err(RecordError::Io { doing: "read", path, source }.into()),
        Ok(bytes) => bytes,
    };
    let mut decisions = Decisions::default();
    for (number, line) in (1..).zip(bytes.split(|byte| *byte == b'\n')) {
        match decision_of(line) {
            _ if line.is_empty() => {}
            Some(decision) => decisions.all.push(decision),
            None => decisions.damaged.push(number),
        }
    }
    Ok(decisions)
}

/// The decision of a line; `None` where the line is not what was written.
fn decision_of(line: &[u8]) -> Option<Decision> {
    let Line { decision, .. } = serde_json::from_slice(line).ok()?;
    (line_of(&decision).as_bytes().trim_ascii_end() == line).then_some(decision)
}

/// The line of a decision, ended.
fn line_of(decision: &Decision) -> String {
    // None of ours has a key that is no text, so this cannot fail.
    let bare = serde_json::to_string(decision).expect("JSON");
    let crc = CRC.checksum(bare.as_bytes());
    let inside = bare.strip_suffix('}').expect("an object");
    format!("{inside},\"crc32\":\"{crc:08x}\"}}\n")
}

/// Adds decisions, durable. Take the lot's lock first.
///
/// # Errors
/// When the file cannot be written; what was in it stays.
pub fn append(folder: &LotFolder, decisions: &[Decision]) -> Result<(), LotError> {
    let path = path(folder);
    let (disk, new) = (folder.disk(), !path.exists());
    let mut text: String = decisions.iter().map(line_of).collect();
    let written = (|| {
        let file = if new { disk.create(&path, true)? } else { disk.open(&path)? };
        let length = file.file().metadata()?.len();
        // A line that a crash has cut off must not swallow the next one.
        if length > 0 && !std::fs::read(&path)?.ends_with(b"\n") {
            text.insert(0, '\n');
        }
        let written = file.write(text.as_bytes(), length).and_then(|()| file.sync());
        if written.is_err() {
            let _ = file.cut(length);
        }
        written
    })();
    written.map_err(|source| RecordError::Io { doing: "write", path: path.clone(), source })?;
    if new {
        crate::record::durable::sync_folder_of(disk, &path)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::decision::{FORMAT, What, Whereabouts};
    use std::collections::BTreeMap;

    fn decided(what: What) -> Decision {
        Decision {
            format: FORMAT,
            time: "2026-03-09T10:00:00+01:00".into(),
            by: "Ines".into(),
            reason: "sat \"askew\"".into(),
            what,
        }
    }

    fn examples() -> Vec<Decision> {
        let serial = || "pier-07".to_owned();
        [
            What::Strike { serial: serial(), run: 2 },
            What::Hold { serial: serial(), after: 2 },
            What::Whereabouts {
                serial: serial(),
                is: Whereabouts::BuiltIn,
                at: Some("lock".into()),
            },
            What::Whereabouts { serial: serial(), is: Whereabouts::Here, at: None },
            What::BenchFailed {
                jig: "0001".into(),
                runs: BTreeMap::from([(serial(), vec![2, 3])]),
            },
            What::Close { last: BTreeMap::from([(serial(), 3)]) },
        ]
        .map(decided)
        .into()
    }

    #[test]
    fn what_is_added_is_read_again() {
        let folder = tempfile::tempdir().expect("a folder");
        let lot = LotFolder::open(folder.path(), "spring").expect("made");
        assert_eq!(read(&lot).expect("read"), Decisions::default());
        for decision in examples() {
            append(&lot, &[decision]).expect("written");
        }
        let found = read(&lot).expect("read");
        assert_eq!((found.all, found.damaged), (examples(), vec![]));
    }

    #[test]
    fn a_flipped_bit_costs_one_line_and_is_told() {
        let folder = tempfile::tempdir().expect("a folder");
        let lot = LotFolder::open(folder.path(), "spring").expect("made");
        append(&lot, &examples()).expect("written");
        let whole = std::fs::read(path(&lot)).expect("there");
        for at in 0..whole.len() {
            let mut bytes = whole.clone();
            bytes[at] ^= 4;
            std::fs::write(path(&lot), &bytes).expect("written");
            let found = read(&lot).expect("read");
            assert!(!found.damaged.is_empty(), "byte {at}");
            let lost = if whole[at] == b'\n' { 2 } else { 1 };
            assert!(found.all.len() + lost >= examples().len(), "byte {at}");
            assert!(found.all.iter().all(|decision| examples().contains(decision)), "byte {at}");
        }
    }

    #[test]
    fn a_line_that_was_cut_off_swallows_no_other() {
        let folder = tempfile::tempdir().expect("a folder");
        let lot = LotFolder::open(folder.path(), "spring").expect("made");
        append(&lot, &examples()).expect("written");
        let whole = std::fs::read(path(&lot)).expect("there");
        std::fs::write(path(&lot), &whole[..whole.len() - 9]).expect("cut");
        append(&lot, &examples()[..1]).expect("written");
        let found = read(&lot).expect("read");
        assert_eq!(found.all.len(), examples().len());
        assert_eq!(found.damaged, [examples().len()]);
    }
}
