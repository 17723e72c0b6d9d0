//! Limits of a load from measurements of known good specimens.
//!
//! What measured currents say, and the load sheet that they make, know no wire and no jig; a
//! measurement is [`taking`] through `procedure`.

pub mod limits;
pub mod sheet;
pub mod taking;

pub use limits::{Asked, Measurement, SampleError, SampleLimits};
