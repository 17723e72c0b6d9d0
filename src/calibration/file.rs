//! The file of a jig's calibrations: TOML, one `[[channel]]` for each calibrated channel.
//!
//! Offset, gain and all that goes with them follow from the points, so they are worked out anew
//! when the file is read; what stands in it must agree. So nobody tests with a file that was damaged
//! or touched up by hand.

mod calibration;
mod read;
mod write;

pub use calibration::{Calibration, FORMAT, Stranger};

#[cfg(test)]
#[path = "file/tests.rs"]
pub(super) mod tests;
