//! Why a step does not go on.

use super::event::ListenError;
use super::settle::Unsettled;
use crate::jig::board::Supply;
use crate::link::error::LinkError;
use crate::procedure::error::BenchError;

/// Why a step does not go on.
#[derive(Clone, Debug, PartialEq)]
pub enum StepStop {
    /// The operator wants to stop.
    Stopped,
    /// A supply has tripped in the middle of a step.
    Tripped(Supply),
    /// The jig lets a load rest that was on for as long as it may.
    Rested,
    /// What was read forbids to go on, or makes it useless: one clear sentence.
    Enough(String),
    /// The module was found to answer elsewhere: the step is taken again there.
    Moved,
    /// One clear sentence.
    Trouble(String),
}

impl StepStop {
    /// A load rests, and cannot be waited for.
    pub fn too_warm() -> Self {
        StepStop::Trouble(BenchError::Rested.to_string())
    }

    /// Why, in words.
    pub fn sentence(self) -> String {
        match self {
            StepStop::Stopped => "the run was stopped".into(),
            StepStop::Tripped(_) => "a supply of the jig trips again and again".into(),
            StepStop::Rested => BenchError::Rested.to_string(),
            StepStop::Moved => "the module answers elsewhere each time that it is asked".into(),
            StepStop::Enough(sentence) | StepStop::Trouble(sentence) => sentence,
        }
    }
}

impl From<BenchError> for StepStop {
    fn from(error: BenchError) -> Self {
        match error {
            BenchError::Stopped => StepStop::Stopped,
            BenchError::Tripped(supply) => StepStop::Tripped(supply),
            BenchError::Rested => StepStop::Rested,
            error => StepStop::Trouble(error.to_string()),
        }
    }
}

impl From<LinkError> for StepStop {
    fn from(error: LinkError) -> Self {
        BenchError::from(error).into()
    }
}

impl From<ListenError> for StepStop {
    fn from(error: ListenError) -> Self {
        StepStop::Trouble(error.to_string())
    }
}

impl From<Unsettled> for StepStop {
    fn from(error: Unsettled) -> Self {
        match error {
            Unsettled::Bench(error) => error.into(),
            Unsettled::Listen(error) => error.into(),
        }
    }
}
