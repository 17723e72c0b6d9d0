//! Why a procedure does not come to its end.

use crate::link::error::LinkError;
use crate::signal::address::AddressError;
use crate::wire::refusal::Refusal;
use crate::wire::suffix::Supply;
use thiserror::Error;

/// What to say when the jig could not be told to turn everything off.
pub const STILL_ON: &str = "the feed and the loads could not be turned off from here: the jig does it \
                            by itself when it has heard nothing for its silence limit (5 s unless \
                            set otherwise); look that they are off before you touch the module";

/// Why a procedure does not come to its end: one clear sentence each.
#[derive(Debug, Error)]
pub enum BenchError {
    /// Somebody wants to stop.
    #[error("stopped; everything is off")]
    Stopped,

    /// A supply has tripped on the way.
    #[error("{}", LinkError::Tripped(*.0))]
    Tripped(Supply),

    /// The jig has let a load rest: no reading is made of a load that is not there.
    #[error(
        "a load was on for as long as it may, and the jig has switched it off: the line to the jig \
         is slow, or the load's `longest_on` is too short; let it rest and test again"
    )]
    Rested,

    /// A number was asked for.
    #[error("the jig's answer to {units} is no number: try again")]
    NoNumber {
        /// What it was asked.
        units: String,
    },

    /// A capture goes on beyond its time.
    #[error(
        "the jig's capture {unit} does not come to an end: switch the jig off and on, then try again"
    )]
    CaptureGoesOn {
        /// Its unit.
        unit: u8,
    },

    /// A capture ended before its time, and no trip says why.
    #[error(
        "the jig has ended a capture before its time: it lost samples, or it heard nothing for too \
         long; look at its cable and its power, and test again"
    )]
    CaptureCutShort,

    /// The jig is not sound.
    #[error(
        "the jig has failed its self-test (check {check}{of_what}): nothing that it reads can be trusted, and \
         nothing was turned on; look that both its supplies are there, turn the jig off and on, then try \
         again",
        check = .0,
        of_what = self_test_words(*.0)
    )]
    SelfTest(u16),

    /// The jig has taken no zeros.
    #[error(
        "the jig has not taken the zeros of its currents, though nothing is on: turn it off and on, then \
         try again"
    )]
    NoZeros,

    /// The jig has no such channel.
    #[error("this jig has no channel {0}")]
    NoChannel(u16),

    /// An output has no such address.
    #[error(transparent)]
    Address(#[from] AddressError),

    /// The line.
    #[error(transparent)]
    Link(LinkError),
}

/// What the checks of our own boards are of, by their numbers.
const fn self_test_words(check: u16) -> &'static str {
    match check {
        1 => ", its shift registers",
        2 => ", the zeros of its currents",
        3 => ", its converters",
        4 => ", its reference or its test voltage",
        5 => ", its ground",
        6 => ", its latches",
        _ => "",
    }
}

impl From<LinkError> for BenchError {
    fn from(error: LinkError) -> Self {
        match error {
            LinkError::Tripped(supply) => BenchError::Tripped(supply),
            error if error.refusal() == Some(Refusal::LoadResting) => BenchError::Rested,
            error => BenchError::Link(error),
        }
    }
}

/// Whether what was done made a supply trip; that is no error of its own.
///
/// # Errors
/// Every other error.
pub fn trips<E: Into<BenchError>>(result: Result<(), E>) -> Result<bool, BenchError> {
    match result.map_err(Into::into) {
        Ok(()) => Ok(false),
        Err(BenchError::Tripped(_)) => Ok(true),
        Err(error) => Err(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(number: i16, text: &str) -> BenchError {
        LinkError::Refused { units: "ROUT:CLOS (@321)".into(), number, text: text.into() }.into()
    }

    #[test]
    fn a_load_that_rests_is_told_in_plain_words() {
        let error = refused(Refusal::LoadResting.number(), Refusal::LoadResting.text());
        assert!(matches!(error, BenchError::Rested), "{error}");
        let other = refused(-222, "Data out of range");
        assert!(matches!(other, BenchError::Link(_)), "{other}");
    }

    #[test]
    fn a_trip_is_told_from_an_error() {
        assert!(matches!(trips(Ok::<(), BenchError>(())), Ok(false)));
        assert!(matches!(trips(Err(LinkError::Tripped(Supply::Loads))), Ok(true)));
        assert!(trips(Err(LinkError::ClockStands)).is_err());
    }
}
