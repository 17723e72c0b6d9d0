//! Circuits, integrated in time.

pub mod coil_branch;
pub mod element;
pub mod feed;
pub mod lamp;
pub mod led;
pub mod loads;
pub mod motor;
