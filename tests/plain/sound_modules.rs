//! Sound modules pass: a sample of the proof in `tests/long/sound_modules.rs`, small enough for every day.

use crate::kit::bench::{JETTY, PIER, QUAY};
use crate::kit::sound_modules::sound_modules_pass;

/// Modules of each kind.
const MODULES: u64 = 100;

#[test]
fn pier_four() {
    sound_modules_pass("pier-four", PIER, MODULES);
}

#[test]
fn quay_four() {
    sound_modules_pass("quay-four", QUAY, MODULES);
}

#[test]
fn jetty_two() {
    sound_modules_pass("jetty-two", JETTY, MODULES);
}
