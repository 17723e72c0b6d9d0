//! The layout's address plan, and the labels that go on its modules.
//!
//! [`plan::AddressPlan`] is read from `layout.toml`; [`check`] finds two owners of one address and
//! settings that no switch can make; [`next`] proposes what is free; [`add`] and [`alter`] write into
//! the file without touching what people wrote there; [`seated`] says where it differs from what the lots say of
//! the modules that sit in its places; [`label`] draws a module's label.
//!
//! Leans on `signal`, `quantity`, `script` and `lot`, and on `record` for files that are either whole or not
//! there.

pub mod add;
pub mod alter;
pub mod check;
mod error;
mod file;
pub mod label;
pub mod next;
pub mod on_feed;
pub mod plan;
mod read;
pub mod seated;

pub use error::LayoutError;

/// The plan's file when none is named.
pub const DEFAULT_FILE: &str = "layout.toml";
