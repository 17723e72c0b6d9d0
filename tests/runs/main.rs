//! Whole runs on the simulated bench, on the clock that jumps.

#[macro_use]
#[path = "../support/pass_on.rs"]
mod pass_on;

mod bare;
#[allow(dead_code)]
mod bench;
mod endings;
mod faults;
mod hook_up;
mod hurt_jig;
mod in_place;
mod lamp;
mod load_start;
mod polarity;
mod sampled;
mod sound;
mod survey;
mod switches;
mod watched;
