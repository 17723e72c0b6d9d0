//! Three thousand sound modules pass, but for the share that the risk of the verdicts predicts.

use crate::kit::bench::{JETTY, PIER, QUAY};
use crate::kit::sound_modules::sound_modules_pass;

/// Modules of each kind.
const MODULES: u64 = 1_000;

#[test]
#[ignore = "a minute or two; `.ci/run` asks for it"]
fn pier_four() {
    sound_modules_pass("pier-four", PIER, MODULES);
}

#[test]
#[ignore = "a minute or two; `.ci/run` asks for it"]
fn quay_four() {
    sound_modules_pass("quay-four", QUAY, MODULES);
}

#[test]
#[ignore = "a minute or two; `.ci/run` asks for it"]
fn jetty_two() {
    sound_modules_pass("jetty-two", JETTY, MODULES);
}
