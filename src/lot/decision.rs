//! What people decided about a lot or one of its modules.

use super::error::LotError;
use crate::record::cell;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// The number of the format of a line.
pub const FORMAT: u32 = 1;

/// One decision, or one thing that was noted: who, when, what and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Decision {
    /// The number of the format.
    pub format: u32,
    /// When, RFC 3339, by the computer's clock.
    pub time: String,
    /// Who.
    pub by: String,
    /// Why.
    pub reason: String,
    /// What.
    #[serde(flatten)]
    pub what: What,
}

/// The longest reason or name.
const LONGEST: usize = 500;

impl Decision {
    /// What somebody decides now.
    ///
    /// # Errors
    /// When the words cannot be kept.
    pub fn now(by: &str, reason: &str, what: What) -> Result<Decision, LotError> {
        Ok(Decision {
            format: FORMAT,
            time: cell::time(&jiff::ZonedDateTime::now()),
            by: line(by, "the name of who decides")?,
            reason: line(reason, "the reason")?,
            what,
        })
    }
}

/// One line of words.
fn line(text: &str, what: &str) -> Result<String, LotError> {
    let text = text.trim();
    if text.is_empty() || text.chars().count() > LONGEST || text.chars().any(char::is_control) {
        let sentence = format!("{what} is one line of 1 to {LONGEST} characters");
        return Err(LotError::Refused(sentence));
    }
    Ok(text.into())
}

/// What was decided or noted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum What {
    /// A try does not count.
    Strike {
        /// The module.
        serial: String,
        /// The number of the run.
        run: u32,
    },
    /// The module is put aside.
    Hold {
        /// The module.
        serial: String,
        /// The number of its last run by then; 0 where there was none.
        after: u32,
    },
    /// It is tried anew: what was found so far does not count.
    Release {
        /// The module.
        serial: String,
        /// The number of its last run by then.
        after: u32,
    },
    /// It goes back.
    Reject {
        /// The module.
        serial: String,
        /// The number of its last run by then.
        after: u32,
    },
    /// It is taken.
    Accept {
        /// The module.
        serial: String,
        /// The number of its last run by then.
        after: u32,
    },
    /// A note.
    Note {
        /// The module.
        serial: String,
    },
    /// Where the module is.
    Whereabouts {
        /// The module.
        serial: String,
        /// Where.
        is: Whereabouts,
        /// Which place, person or other module.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<String>,
    },
    /// The bench has failed a check: what it read since the last good one does not count.
    BenchFailed {
        /// The serial number of the jig.
        jig: String,
        /// Runs, by the modules' serials.
        runs: BTreeMap<String, Vec<u32>>,
    },
    /// The bench has passed a check.
    BenchGood {
        /// The serial number of the jig.
        jig: String,
        /// The last run of each module by then.
        last: BTreeMap<String, u32>,
    },
    /// Which modules go through the long script too.
    Sample {
        /// The modules.
        serials: Vec<String>,
        /// The script.
        script: String,
        /// The number that they were drawn from; none where somebody named them.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seed: Option<u32>,
    },
    /// The lot is closed: later runs are checks.
    Close {
        /// The last run of each module by then.
        last: BTreeMap<String, u32>,
    },
}

/// Where a module is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Whereabouts {
    /// Ordered, not here yet.
    Ordered,
    /// On the shelf.
    Here,
    /// Nobody knows.
    Missing,
    /// Lent to somebody.
    Lent,
    /// Built in.
    BuiltIn,
    /// Sent back.
    Returned,
    /// Another one took its place.
    ReplacedBy,
    /// Broken here.
    BrokenHere,
    /// Thrown away.
    Scrapped,
}

impl Whereabouts {
    /// All of them, with their words.
    pub const ALL: [(&'static str, Whereabouts); 9] = [
        ("ordered", Whereabouts::Ordered),
        ("here", Whereabouts::Here),
        ("missing", Whereabouts::Missing),
        ("lent", Whereabouts::Lent),
        ("built-in", Whereabouts::BuiltIn),
        ("returned", Whereabouts::Returned),
        ("replaced-by", Whereabouts::ReplacedBy),
        ("broken-here", Whereabouts::BrokenHere),
        ("scrapped", Whereabouts::Scrapped),
    ];

    /// The one of a word, among those that can be.
    ///
    /// # Errors
    /// The words of those, where it is none of them.
    pub fn among(text: &str, can_be: impl Fn(&Whereabouts) -> bool) -> Result<Self, String> {
        let mut all = Whereabouts::ALL.iter().filter(|(_, is)| can_be(is));
        let words: Vec<&str> = all.clone().map(|(word, _)| *word).collect();
        all.find(|(word, _)| *word == text).map(|(_, is)| *is).ok_or_else(|| words.join(", "))
    }
}

impl fmt::Display for Whereabouts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = Whereabouts::ALL.iter().find(|(_, is)| is == self).map_or("", |(word, _)| word);
        f.write_str(word)
    }
}

impl What {
    /// The module that it is about; none where it is about the lot or the bench.
    pub fn serial(&self) -> Option<&str> {
        match self {
            What::Strike { serial, .. }
            | What::Hold { serial, .. }
            | What::Release { serial, .. }
            | What::Reject { serial, .. }
            | What::Accept { serial, .. }
            | What::Note { serial }
            | What::Whereabouts { serial, .. } => Some(serial),
            What::BenchFailed { .. }
            | What::BenchGood { .. }
            | What::Sample { .. }
            | What::Close { .. } => None,
        }
    }
}
