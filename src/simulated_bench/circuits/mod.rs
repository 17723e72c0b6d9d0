//! Circuits, integrated in time.

mod change_over;
pub mod clamp;
mod clamp_diode;
pub mod coil_branch;
pub mod feed;
mod input;
pub mod loads;
mod touching;
