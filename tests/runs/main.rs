//! Whole runs on the simulated bench, on the clock that jumps.

mod bench;
mod sound;
mod survey;
