//! From samples to levels, transitions and currents with their uncertainty.
//!
//! Knows no wire and no jig.

pub mod record;
