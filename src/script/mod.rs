//! Scripts and module sheets: parse, check, expand to a plan.
//!
//! Knows no wire and no jig.

pub mod module_sheet;
pub mod plan;
