//! How a command ends: its exit code, and the sentence when something went wrong.

use crate::judge::reading::Verdict;
use crate::layout::LayoutError;
use crate::record::RecordError;
use crate::report::plain::plain_lines;
use std::io::Write;
use std::process::ExitCode;

/// What the exit codes mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// All went well; the module passes.
    Pass = 0,
    /// The module fails.
    Fail = 1,
    /// Usage, or bad input.
    BadInput = 2,
    /// The readings do not decide.
    Indeterminate = 3,
    /// The bench, the line or the disk failed, or the run was stopped.
    Bench = 4,
}

impl From<Verdict> for Ending {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Pass => Ending::Pass,
            Verdict::Fail => Ending::Fail,
            Verdict::Indeterminate => Ending::Indeterminate,
        }
    }
}

/// Something went wrong: one clear sentence, and the exit code that goes with it.
#[derive(Debug)]
pub struct Trouble {
    /// The exit code.
    pub ending: Ending,
    /// The sentence.
    pub error: anyhow::Error,
}

/// What a command comes to.
pub type Ended = Result<Ending, Trouble>;

/// Bad input, in the command's own words.
pub fn bad_input(sentence: impl Into<String>) -> Trouble {
    Trouble { ending: Ending::BadInput, error: anyhow::Error::msg(sentence.into()) }
}

/// Says which exit code an error of the library means.
pub trait OrEnd<T> {
    /// The user gave something wrong.
    ///
    /// # Errors
    /// The error, with exit code 2.
    fn or_bad_input(self) -> Result<T, Trouble>;

    /// The bench, the line or the disk failed.
    ///
    /// # Errors
    /// The error, with exit code 4.
    fn or_bench(self) -> Result<T, Trouble>;
}

impl<T, E: Into<anyhow::Error>> OrEnd<T> for Result<T, E> {
    fn or_bad_input(self) -> Result<T, Trouble> {
        self.map_err(|e| Trouble { ending: Ending::BadInput, error: e.into() })
    }

    fn or_bench(self) -> Result<T, Trouble> {
        self.map_err(|e| Trouble { ending: Ending::Bench, error: e.into() })
    }
}

impl From<RecordError> for Trouble {
    fn from(error: RecordError) -> Self {
        let ending = if error.is_bad_input() { Ending::BadInput } else { Ending::Bench };
        Trouble { ending, error: error.into() }
    }
}

impl From<LayoutError> for Trouble {
    fn from(error: LayoutError) -> Self {
        match error {
            LayoutError::Record(error) => error.into(),
            LayoutError::Wrong(_) | LayoutError::Refused(_) => {
                Trouble { ending: Ending::BadInput, error: error.into() }
            }
        }
    }
}

/// Prints the sentence, if there is one, and gives the exit code.
pub fn exit_code(ended: Ended) -> ExitCode {
    let ending = ended.unwrap_or_else(|trouble| {
        let shown = plain_lines(&trouble.error.to_string());
        // Nobody is left to tell when the error output is closed too.
        let _ = writeln!(std::io::stderr(), "musterbench: {shown}");
        trouble.ending
    });
    ExitCode::from(ending as u8)
}
