//! Calibrating, rechecking, and what a test makes of it: with the whole program, on the simulated
//! bench.

mod bad_input;
mod drawn_jigs;
#[cfg(unix)]
mod guided;
mod program;
mod recheck;
mod used;
