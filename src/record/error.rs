//! What can go wrong with the records.

use super::names::NameError;
use crate::refused::words;
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// What can go wrong with the records. Each reads as one sentence.
#[derive(Debug, Error)]
pub enum RecordError {
    /// A name that cannot be a folder.
    #[error(transparent)]
    Name(#[from] NameError),
    /// The system refuses.
    #[error("cannot {doing} {}: {}", path.display(), words(source))]
    Io {
        /// What was tried: `write`, `read`, …
        doing: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A file stands where ours should be.
    #[error("{} was not written by this program ({why}): move it away or give another lot", path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
        /// What gave it away.
        why: String,
    },
    /// A report is there already, and says something else.
    #[error("{} is there already, and is never overwritten: move it away, then let `musterbench recover` \
             finish the run", path.display())]
    Taken {
        /// The report.
        path: PathBuf,
    },
    /// A record of an older format.
    #[error("{} is of an older format: let `musterbench recover` convert it", path.display())]
    Older {
        /// The report.
        path: PathBuf,
    },
    /// What should be read is no plain file.
    #[error("{} {why}: check the path", path.display())]
    NotPlain {
        /// The path.
        path: PathBuf,
        /// What it is.
        why: String,
    },
    /// A file stands where a folder should be.
    #[error("{} is no folder: give another one, or move it away", path.display())]
    NoFolder {
        /// The path.
        path: PathBuf,
    },
    /// A folder for new files holds something.
    #[error("the folder {} is not empty: give an empty or a new one", path.display())]
    NotEmpty {
        /// The folder.
        path: PathBuf,
    },
    /// A run whose report is not there yet.
    #[error("{} belongs to a run that goes on, or was cut off: wait for its end, or let \
             `musterbench recover` finish its report", path.display())]
    Unfinished {
        /// Its journal.
        path: PathBuf,
    },
    /// A report or journal that is not whole.
    #[error("{} is not a whole record of a run: {why}", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
}

impl RecordError {
    /// Whether the user can put it right by giving something else (and not by mending the disk).
    pub fn is_bad_input(&self) -> bool {
        matches!(
            self,
            RecordError::Name(_)
                | RecordError::Foreign { .. }
                | RecordError::NotPlain { .. }
                | RecordError::NoFolder { .. }
                | RecordError::NotEmpty { .. }
                | RecordError::Older { .. }
                | RecordError::Unfinished { .. }
        )
    }
}

/// Says what was tried on which path.
pub(crate) fn io_error(
    doing: &'static str,
    path: &Path,
) -> impl FnOnce(io::Error) -> RecordError + use<> {
    let path = path.to_path_buf();
    move |source| RecordError::Io { doing, path, source }
}
