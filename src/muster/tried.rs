//! How the run of a seated module came out, as far as a muster cares.

use crate::judge::reading::Verdict;
use core::time::Duration;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// It came to its end: a try.
    Whole,
    /// Somebody stopped it: no try.
    Stopped,
    /// The module was pulled out: no try.
    PulledOut,
    /// The bench failed: no try.
    CutShort,
}

impl How {
    /// Its word for other programs.
    pub const fn word(self) -> &'static str {
        match self {
            How::Whole => "whole",
            How::Stopped => "stopped",
            How::PulledOut => "pulled-out",
            How::CutShort => "cut-short",
        }
    }
}

/// How a run came out.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// How it ended.
    pub how: How,
    /// The verdict.
    pub verdict: Verdict,
    /// What was found, in a sentence.
    pub sentence: String,
    /// What to do.
    pub to_do: String,
    /// How long it took, by the bench's clock.
    pub took: Duration,
}
