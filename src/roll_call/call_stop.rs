//! Why a roll-call does not go on.

use crate::jig::board::Supply;
use crate::link::error::LinkError;
use crate::procedure::error::BenchError;

/// Why it does not go on.
#[derive(Debug)]
pub(super) enum CallStop {
    Stopped,
    FeedTripped,
    Bench(BenchError),
    Trouble(String),
}

impl From<BenchError> for CallStop {
    fn from(error: BenchError) -> Self {
        match error {
            BenchError::Stopped => CallStop::Stopped,
            BenchError::Tripped(Supply::Feed) => CallStop::FeedTripped,
            error => CallStop::Bench(error),
        }
    }
}

impl From<LinkError> for CallStop {
    fn from(error: LinkError) -> Self {
        BenchError::from(error).into()
    }
}
