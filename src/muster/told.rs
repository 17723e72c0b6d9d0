//! What a muster tells other programs while it goes on.

use super::tried::{How, Tried};
use crate::lot::fate::Fate;
use serde::Serialize;

/// One event. Stations are numbered from 1.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "event", rename_all = "kebab-case")]
pub enum Told {
    /// The muster begins.
    Began {
        /// The lot.
        lot: String,
        /// How many modules it has.
        modules: usize,
        /// What the stations are called.
        stations: Vec<String>,
        /// Whether the benches are simulated ones.
        simulated: bool,
    },
    /// A bench was looked at.
    Bench {
        /// The station.
        station: usize,
        /// The serial number of the jig.
        jig: String,
        /// When.
        when: &'static str,
        /// What is wrong; nothing where it is good.
        trouble: Option<String>,
    },
    /// A module is to be seated, and start is waited for.
    Seat {
        /// The station.
        station: usize,
        /// The module.
        serial: String,
    },
    /// Somebody has pressed start.
    Started {
        /// The station.
        station: usize,
        /// The module.
        serial: String,
        /// Whether by the jig's button.
        by_button: bool,
    },
    /// A run is over.
    Verdict {
        /// The station.
        station: usize,
        /// The module.
        serial: String,
        /// How it ended: `whole`, `stopped`, `pulled-out`, `cut-short`. Only a whole one is a try.
        ending: &'static str,
        /// The verdict.
        verdict: String,
        /// What was found.
        finding: String,
        /// What to do.
        to_do: String,
        /// How long it took, by the bench's clock.
        seconds: f64,
    },
    /// The module has left the jig.
    Left {
        /// The station.
        station: usize,
        /// The module.
        serial: String,
    },
    /// What becomes of a module has changed.
    Fate {
        /// The module.
        serial: String,
        /// What becomes of it.
        fate: Fate,
        /// Why.
        reason: String,
    },
    /// Something was scanned.
    Scanned {
        /// The station that it is meant for.
        station: usize,
        /// What.
        text: String,
        /// The module that it chooses; none where it was refused.
        serial: Option<String>,
    },
    /// Somebody has decided something.
    Decided {
        /// The module.
        serial: String,
        /// What: `reject`, `hold`, `strike`, `note`.
        decision: &'static str,
        /// Why.
        reason: String,
        /// Who.
        by: String,
    },
    /// A jig cannot be reached, or its bench is not good.
    Lost {
        /// The station.
        station: usize,
        /// Why.
        reason: String,
    },
}

impl Told {
    /// The event of a run that is over.
    pub fn verdict(station: usize, serial: &str, tried: &Tried) -> Told {
        let Tried { how, verdict, sentence, to_do, took } = tried;
        Told::Verdict {
            station: station + 1,
            serial: serial.into(),
            ending: How::word(*how),
            verdict: verdict.to_string(),
            finding: sentence.clone(),
            to_do: to_do.clone(),
            seconds: took.as_secs_f64(),
        }
    }
}
