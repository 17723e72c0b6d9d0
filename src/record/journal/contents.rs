//! What a journal holds, whatever became of it.

use super::frame::{Frame, find};
use super::{CLOSING, FACTS, FIRST_LINE, Head, READING};
use crate::judge::reading::Verdict;
use crate::record::row::KeptReading;
use crate::record::run_record::{Closing, RunEnding, RunRecord, tally};

/// How many times the facts are written.
pub const COPIES: u32 = 2;

/// What a journal holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Contents {
    /// What the run is of; `None` when it never got so far.
    pub head: Option<Head>,
    /// Its readings.
    pub readings: Vec<KeptReading>,
    /// How it came out; `None` when it was cut off.
    pub closing: Option<Closing>,
    /// How many entries are known to be lost. What was lost after the last one that is whole nobody
    /// can count.
    pub lost: usize,
    /// Whether something stands in it that can no longer be read.
    pub damaged: bool,
}

/// Reads the bytes of a journal. `None` when it is none.
pub fn parse(bytes: &[u8]) -> Option<Contents> {
    let (frames, mut damaged) = find(bytes.strip_prefix(FIRST_LINE).unwrap_or(bytes));
    let mut contents = Contents::default();
    if frames.is_empty() {
        // Cut off before its first frame was on the disk: empty, or reserved and never written.
        let written = bytes.iter().rposition(|byte| *byte != 0).map_or(0, |last| last + 1);
        return FIRST_LINE.starts_with(&bytes[..written]).then_some(contents);
    }
    damaged |= !bytes.starts_with(FIRST_LINE);
    let mut seen = 0;
    for frame in &frames {
        seen += usize::from(contents.take(frame)?);
    }
    let written = frames.last().map_or(0, |frame| frame.number + 1).max(COPIES) - COPIES;
    contents.lost = (written as usize).saturating_sub(seen);
    contents.damaged = damaged;
    Some(contents)
}

impl Contents {
    /// Takes a frame; whether it is one of those that are written once. `None` when a frame that is
    /// whole makes no sense: a later version wrote it, and nobody should touch it.
    fn take(&mut self, frame: &Frame<'_>) -> Option<bool> {
        match frame.kind {
            FACTS => {
                let head = serde_json::from_slice(frame.payload).ok()?;
                self.head.get_or_insert(head);
                return Some(false);
            }
            READING => self.readings.push(serde_json::from_slice(frame.payload).ok()?),
            CLOSING => self.closing = Some(serde_json::from_slice(frame.payload).ok()?),
            _ => return None,
        }
        Some(true)
    }

    /// All that is known of the run; where its closing is missing, it is closed as cut off for the
    /// reason given. `None` when there is nothing to report.
    pub fn record(self, why: &str) -> Option<RunRecord> {
        let Contents { head, readings, closing, lost, damaged } = self;
        let Head { facts, planned, self_test } = head?;
        let tally = tally(&readings);
        let closing = match closing {
            Some(closing) if lost == 0 => closing,
            Some(closing) => Closing {
                // A pass that nobody can look up any more is none.
                verdict: closing.verdict.max(Verdict::Indeterminate),
                ending: RunEnding::Damaged,
                reason: Some(lost_in_words(lost)),
                ..closing
            },
            None if lost > 0 => {
                let reason = format!("{why}; {}", lost_in_words(lost));
                Closing::cut_short(&tally, RunEnding::Damaged, &reason)
            }
            None if damaged => {
                let reason = format!("{why}; its last entry is not readable");
                Closing::cut_short(&tally, RunEnding::CutOff, &reason)
            }
            None => Closing::cut_short(&tally, RunEnding::CutOff, why),
        };
        Some(RunRecord { facts, planned, self_test, readings, closing })
    }
}

fn lost_in_words(lost: usize) -> String {
    match lost {
        1 => "1 entry of its journal was damaged on the disk and is lost".into(),
        n => format!("{n} entries of its journal were damaged on the disk and are lost"),
    }
}
