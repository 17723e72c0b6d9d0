//! Why a roll-call does not go on.

use crate::jig::board::Supply;
use crate::link::error::LinkError;
use crate::procedure::error::BenchError;

/// Why it does not go on.
#[derive(Debug)]
pub(super) enum Halt {
    Stopped,
    FeedTripped,
    Bench(BenchError),
    Trouble(String),
}

impl From<BenchError> for Halt {
    fn from(error: BenchError) -> Self {
        match error {
            BenchError::Stopped => Halt::Stopped,
            BenchError::Tripped(Supply::Feed) => Halt::FeedTripped,
            error => Halt::Bench(error),
        }
    }
}

impl From<LinkError> for Halt {
    fn from(error: LinkError) -> Self {
        BenchError::from(error).into()
    }
}
