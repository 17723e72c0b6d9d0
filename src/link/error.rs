//! What can go wrong between the program and a jig: one sentence each, with what to do.

use super::transport::TransportError;
use crate::wire;
use crate::wire::refusal::Refusal;
use crate::wire::seal::CannotSeal;
use crate::wire::suffix::Supply;
use core::time::Duration;
use thiserror::Error;

/// What can go wrong between the program and a jig.
///
/// Text of the device is already safe to show.
#[derive(Debug, Error)]
pub enum LinkError {
    /// The device cannot be opened, or went away.
    #[error(transparent)]
    Transport(#[from] TransportError),

    /// Nothing at all came back to `*IDN?`.
    #[error(
        "nothing answers there within {} s: check that this is the jig's port, that the jig has \
         power, and the cable{others}", waited.as_secs()
    )]
    Silent {
        /// For how long it was asked.
        waited: Duration,
        /// Who else may have heard the answer.
        others: Others,
    },

    /// What is sent comes straight back.
    #[error("the device sends back what it is sent: it is a loop or a terminal, no jig")]
    Echo,

    /// What comes is no text.
    #[error(
        "the device sends garbage ({shown}): it is no jig, or the line is bad or does not run at \
         115200 baud"
    )]
    Garbage {
        /// The beginning of it.
        shown: String,
    },

    /// It answers, but as something else.
    #[error("the device is no jig, it says: {said}")]
    Stranger {
        /// Its answer.
        said: String,
    },

    /// A jig that speaks another language.
    #[error(
        "the jig's language is of version {jig} and this program's of version {}: bring the \
         older one of the two up to date",
        wire::PROTOCOL
    )]
    Incompatible {
        /// The version that the jig named, or `unknown`.
        jig: String,
    },

    /// A jig stopped answering.
    #[error(
        "the jig has stopped answering (asked again and again for {:.0} s): look whether it still \
         has power and its cable{others}", waited.as_secs_f64()
    )]
    NoAnswer {
        /// For how long it was asked.
        waited: Duration,
        /// Who else may have heard the answer.
        others: Others,
    },

    /// The jig takes nothing more from this program. Its outputs are off.
    #[error(
        "the jig has let go of this program and turned everything off: it was reset, it heard \
         nothing for too long, or another program took it over"
    )]
    SessionLost,

    /// The program's own line does not fit the language.
    #[error("cannot send {units}: {why}")]
    Unsendable {
        /// The line.
        units: String,
        /// Why not.
        why: CannotSeal,
    },

    /// The jig refused a command.
    #[error("the jig refuses {units}: error {number}, {text}")]
    Refused {
        /// What it was asked to do.
        units: String,
        /// The number of the error: the standard's, or that of a [`Refusal`].
        number: i16,
        /// The jig's text for it.
        text: String,
    },

    /// A supply has tripped.
    #[error(
        "the {} has tripped: look for a short at the module or its loads", supply_name(*.0)
    )]
    Tripped(Supply),

    /// The answer came whole, but is not what the language says.
    #[error(
        "the jig's answer to {units} makes no sense ({said}): see that firmware and program are of the \
         same version, then try again"
    )]
    Senseless {
        /// What it was asked.
        units: String,
        /// What it said.
        said: String,
    },

    /// The jig answers, but its clock does not move on.
    #[error(
        "the jig's clock stands still or goes far too slowly, so nothing can be timed: switch the \
         jig off and on, then test again"
    )]
    ClockStands,

    /// The jig's clock and this computer's do not agree.
    #[error(
        "the jig's clock goes wrong: {by_s:+.2} s in {over_s:.0} s by this computer's clock, so no time \
         that it measures can be trusted; switch the jig off and on, then test again; if that comes again, \
         have its clock looked at"
    )]
    ClockWrong {
        /// How many seconds too much it shows.
        by_s: f64,
        /// Since when, in seconds.
        over_s: f64,
    },

    /// The feed's soft start neither ends nor trips.
    #[error(
        "the jig's soft start does not come to an end: switch the jig off and on, then test again"
    )]
    SoftStartGoesOn,

    /// A capture that was to be fetched is not finished.
    #[error("capture {unit} is not finished")]
    Unfinished {
        /// Its unit.
        unit: u8,
    },
}

/// Other programs that have the jig's port open, where the system tells; shown as the end of a
/// sentence.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Others(Option<String>);

impl From<Option<String>> for Others {
    fn from(programs: Option<String>) -> Self {
        Others(programs)
    }
}

impl core::fmt::Display for Others {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match &self.0 {
            Some(programs) => {
                write!(f, "; another program reads the port and may take the answers: {programs}")
            }
            None => Ok(()),
        }
    }
}

impl LinkError {
    /// Why the jig has refused, where it has and gives a reason of its own.
    pub fn refusal(&self) -> Option<Refusal> {
        match self {
            LinkError::Refused { number, .. } => Refusal::from_number(*number),
            _ => None,
        }
    }
}

fn supply_name(supply: Supply) -> &'static str {
    match supply {
        Supply::Feed => "feed",
        Supply::Loads => "load supply",
    }
}
