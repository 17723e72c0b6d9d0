//! Whole runs on the simulated bench, on the clock that jumps.

mod as_text;
mod bare;
mod clocks;
mod elsewhere;
mod endings;
mod faults;
mod hook_up;
mod hurt_jig;
mod in_place;
mod lamp;
mod large_loads;
mod load_start;
mod other_kind;
mod polarity;
mod pulled;
mod sampled;
mod self_test;
mod shared_feed;
mod sound;
mod switches;
mod watched;
