//! Load sheets, and the values to expect from the circuits in them.
//!
//! Knows no wire and no jig, and shares nothing with the simulated bench.

pub mod corners;
pub mod diode;
pub mod expected;
pub mod filament;
pub mod jig;
pub mod marking;
pub mod model;
pub mod series;
pub mod settle;
pub mod sheet;
#[cfg(test)]
mod specimens;
pub mod start;
pub mod window_words;

pub use expected::{
    Expectation, Fed, expected_current, explained, rise_time, settled_current, window,
};
pub use jig::{jig_loads, jig_loads_of};
pub use settle::settle_time;
