//! Scripts and module sheets: parse, check, expand to a plan.
//!
//! Knows no wire and no jig. A script is read ([`steps::Script`]), expanded for one module sheet
//! and load sheet ([`expand::expand`]) to a [`plan::Plan`], and the plan is checked
//! ([`check::check`]) before any feed goes on.

pub mod actions;
pub mod address;
pub mod check;
pub mod describe;
pub mod every_switch;
pub mod expand;
mod finding;
mod jig_abilities;
pub mod module_sheet;
mod read;
pub mod setting;
pub mod shipped;
mod small_loads;
pub mod steps;
pub mod switching_on;
mod terms;
pub mod timing;

pub use actions::plan;
pub use expand::expand;
