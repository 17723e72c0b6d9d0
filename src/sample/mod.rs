//! Limits of a load from measurements of known good specimens.
//!
//! Knows no wire and no jig: what measured currents say, and the load sheet that they make.

pub mod limits;
pub mod sheet;

pub use limits::{Asked, Measurement, SampleError, SampleLimits};
