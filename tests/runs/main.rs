//! Whole runs on the simulated bench, on the clock that jumps.

mod bench;
mod in_place;
mod sound;
mod survey;
