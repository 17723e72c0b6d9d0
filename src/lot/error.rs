//! What can go wrong with a lot.

use crate::quantity::located::Located;
use crate::record::RecordError;
use thiserror::Error;

/// What can go wrong with a lot. Each reads as one sentence.
#[derive(Debug, Error)]
pub enum LotError {
    /// Something is wrong in `lot.toml`.
    #[error(transparent)]
    Wrong(#[from] Located),
    /// What was asked for does not go together with how the lot stands.
    #[error("{0}")]
    Refused(String),
    /// A record cannot be read or written.
    #[error(transparent)]
    Record(#[from] RecordError),
}

impl LotError {
    /// A refusal in these words.
    pub fn refused(sentence: impl Into<String>) -> Self {
        LotError::Refused(sentence.into())
    }
}
