//! Whole runs on the simulated bench, on the clock that jumps.

#[allow(dead_code)]
mod bench;
mod endings;
mod faults;
mod hurt_jig;
mod in_place;
mod sound;
mod survey;
