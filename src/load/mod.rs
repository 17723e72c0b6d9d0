//! Load sheets, and the values to expect from the circuits in them.
//!
//! Knows no wire and no jig, and shares nothing with the simulated bench.

pub mod circuit;
pub mod corners;
pub mod diode;
pub mod expected;
pub mod fed;
pub mod filament;
pub mod input;
pub mod jig;
mod keys;
pub mod kind;
pub mod kinds;
pub mod marking;
pub mod series;
pub mod settle;
pub mod sheet;
#[cfg(test)]
mod specimens;
pub mod start;
pub mod told;
pub mod window_words;

pub use circuit::Circuit;
pub use expected::{Expectation, expected_current, explained, settled_current, window};
pub use fed::Fed;
pub use jig::{jig_loads, jig_loads_of, planned_resistance};
pub use settle::settle_time;
