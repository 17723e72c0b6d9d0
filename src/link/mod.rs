//! The host's end of the serial line.
//!
//! Leans on `wire`, and opens a `simulated_bench`.

pub mod transport;
