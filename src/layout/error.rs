//! What can go wrong with an address plan.

use crate::lot::LotError;
use crate::quantity::located::Located;
use crate::record::RecordError;
use thiserror::Error;

/// What can go wrong with an address plan.
#[derive(Debug, Error)]
pub enum LayoutError {
    /// Something is wrong in the file: a sentence each, with its place.
    #[error("{}", sentences(.0))]
    Wrong(Vec<Located>),
    /// The plan does not allow what was asked for.
    #[error("{0}")]
    Refused(String),
    /// A lot cannot be read.
    #[error(transparent)]
    Lot(#[from] LotError),
    /// The file cannot be written, or a record cannot be read.
    #[error(transparent)]
    Record(#[from] RecordError),
}

impl From<Located> for LayoutError {
    fn from(wrong: Located) -> Self {
        LayoutError::Wrong(vec![wrong])
    }
}

/// All of them, a paragraph each.
fn sentences(wrong: &[Located]) -> String {
    wrong.iter().map(Located::to_string).collect::<Vec<_>>().join("\n")
}
