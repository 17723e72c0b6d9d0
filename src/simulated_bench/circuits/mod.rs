//! Circuits, integrated in time.

mod change_over;
pub mod clamp;
pub mod coil_branch;
pub mod element;
pub mod feed;
pub mod insulation;
pub mod lamp;
pub mod led;
pub mod loads;
pub mod motor;
mod trend;
