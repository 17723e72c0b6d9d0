//! Proofs at their full size, and tables for whoever tunes a measurement: minutes each, so all of them are
//! ignored until they are asked for, as a rule with the optimiser:
//! `cargo test --release --test long survey_of_faults -- --ignored --nocapture`.

#[macro_use]
#[path = "../kit/mod.rs"]
mod kit;

mod bad_line;
mod diagnosis;
mod drawn_lots;
mod faults;
mod honesty;
mod killed_musters;
mod roll_call;
mod shorten;
mod sound_modules;
mod survey;
