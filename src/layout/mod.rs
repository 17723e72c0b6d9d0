//! The layout's address plan, and the labels that go on its modules.
//!
//! [`plan::AddressPlan`] is read from `layout.toml`; [`check`] finds two owners of one address and
//! settings that no switch can make; [`next`] proposes what is free; [`add`] writes a module into
//! the file without touching what people wrote there; [`label`] draws a module's label.
//!
//! Leans on `signal`, `quantity` and `script`, and on `record` for the last run and for files that
//! are either whole or not there.

pub mod add;
pub mod check;
pub mod label;
pub mod next;
pub mod on_feed;
pub mod plan;
mod read;

use crate::quantity::located::Located;
use crate::record::RecordError;
use thiserror::Error;

/// The plan's file when none is named.
pub const DEFAULT_FILE: &str = "layout.toml";

/// What can go wrong with an address plan.
#[derive(Debug, Error)]
pub enum LayoutError {
    /// Something is wrong in the file: a sentence each, with its place.
    #[error("{}", sentences(.0))]
    Wrong(Vec<Located>),
    /// The plan does not allow what was asked for.
    #[error("{0}")]
    Refused(String),
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
pub fn sentences(wrong: &[Located]) -> String {
    wrong.iter().map(Located::to_string).collect::<Vec<_>>().join("\n")
}
