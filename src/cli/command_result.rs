//! How a command ends: its exit code, and the sentence when something went wrong.

use crate::judge::reading::Verdict;
use crate::layout::LayoutError;
use crate::procedure::error::BenchError;
use crate::record::RecordError;
use crate::run::settle::Unsettled;

/// What the exit codes mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// All went well; the module passes.
    Pass = 0,
    /// The module fails.
    Fail = 1,
    /// Usage, or bad input.
    BadInput = 2,
    /// The readings do not decide.
    Indeterminate = 3,
    /// The bench, the line or the disk failed.
    Bench = 4,
    /// The operator has stopped it.
    Stopped = 5,
}

impl From<Verdict> for Exit {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Pass => Exit::Pass,
            Verdict::Fail => Exit::Fail,
            Verdict::Indeterminate => Exit::Indeterminate,
        }
    }
}

/// Something went wrong: one clear sentence, and the exit code that goes with it.
#[derive(Debug)]
pub struct CommandError {
    /// The exit code.
    pub exit: Exit,
    /// The sentence.
    pub error: anyhow::Error,
}

/// What a command comes to.
pub type CommandResult = Result<Exit, CommandError>;

/// Bad input, in the command's own words.
pub fn bad_input(sentence: impl Into<String>) -> CommandError {
    CommandError { exit: Exit::BadInput, error: anyhow::Error::msg(sentence.into()) }
}

/// Says which exit code an error of the library means.
pub trait OrExit<T> {
    /// The user gave something wrong.
    ///
    /// # Errors
    /// The error, with exit code 2.
    fn or_bad_input(self) -> Result<T, CommandError>;

    /// The bench, the line or the disk failed.
    ///
    /// # Errors
    /// The error, with exit code 4.
    fn or_bench(self) -> Result<T, CommandError>;
}

impl<T, E: Into<anyhow::Error>> OrExit<T> for Result<T, E> {
    fn or_bad_input(self) -> Result<T, CommandError> {
        self.map_err(|e| CommandError { exit: Exit::BadInput, error: e.into() })
    }

    fn or_bench(self) -> Result<T, CommandError> {
        self.map_err(|e| CommandError { exit: Exit::Bench, error: e.into() })
    }
}

impl From<RecordError> for CommandError {
    fn from(error: RecordError) -> Self {
        let exit = if error.is_bad_input() { Exit::BadInput } else { Exit::Bench };
        CommandError { exit, error: error.into() }
    }
}

impl From<BenchError> for CommandError {
    fn from(error: BenchError) -> Self {
        let exit = match error {
            BenchError::NoChannel(_) => Exit::BadInput,
            BenchError::Stopped => Exit::Stopped,
            _ => Exit::Bench,
        };
        CommandError { exit, error: error.into() }
    }
}

impl From<Unsettled> for CommandError {
    fn from(error: Unsettled) -> Self {
        match error {
            Unsettled::Bench(error) => error.into(),
            Unsettled::Listen(error) => CommandError { exit: Exit::Bench, error: error.into() },
        }
    }
}

impl From<LayoutError> for CommandError {
    fn from(error: LayoutError) -> Self {
        match error {
            LayoutError::Record(error) => error.into(),
            LayoutError::Lot(error) => error.into(),
            LayoutError::Wrong(_) | LayoutError::Refused(_) => {
                CommandError { exit: Exit::BadInput, error: error.into() }
            }
        }
    }
}
