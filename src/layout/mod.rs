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
mod error;
pub mod label;
pub mod next;
pub mod on_feed;
pub mod plan;
mod read;

pub use error::LayoutError;

/// The plan's file when none is named.
pub const DEFAULT_FILE: &str = "layout.toml";
