//! What is wrong is one clear sentence, with exit code 2.

use super::program::{Ran, calibrate, file, musterbench, read, test};
use std::fs;
use std::path::Path;

fn assert_refused(ran: &Ran, told: &str) {
    assert_eq!(ran.code, 2, "{ran:?}");
    // What is told is broken to the width of a terminal.
    let unbroken = ran.told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(unbroken.contains(told), "{told}: {}", ran.told);
    assert_eq!(ran.said, "");
}

fn calibrated(seed: u64) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    assert_eq!(calibrate(folder.path(), seed, &["--channels", "1a"]).code, 0);
    folder
}

#[test]
fn a_calibration_of_another_jig_is_not_used() {
    let folder = calibrated(3);
    fs::copy(file(folder.path(), 3), file(folder.path(), 4)).expect("copied");
    let told = "calibration/SIM-4.toml is no calibration of the jig SIM-4: it is of the jig SIM-3";
    assert_refused(&test(folder.path(), 4, &[]), told);
    assert_refused(&calibrate(folder.path(), 4, &[]), "is no calibration of this jig");
    let by_name = ["--calibration", "calibration/SIM-3.toml"];
    assert_refused(&test(folder.path(), 5, &by_name), "it is of the jig SIM-3, not of this one");
}

#[test]
fn a_calibration_of_a_real_jig_is_not_used_on_a_simulated_bench() {
    let folder = calibrated(3);
    let mut real = read(folder.path(), 3);
    real.simulated = false;
    fs::write(file(folder.path(), 3), real.to_toml()).expect("written");
    assert_refused(&test(folder.path(), 3, &[]), "it is of a real jig");
}

#[test]
fn a_calibration_that_was_asked_for_must_be_there() {
    let folder = calibrated(3);
    let told = "there is no calibration/SIM-4.toml: calibrate this jig";
    assert_refused(&test(folder.path(), 4, &["--calibration", "calibration"]), told);
    assert_refused(&test(folder.path(), 4, &["--calibration", "none.toml"]), "none.toml: cannot");
    assert_eq!(test(folder.path(), 3, &["--calibration", "calibration"]).code, 0);
}

#[test]
fn a_damaged_file_is_told_with_its_line() {
    let folder = calibrated(3);
    let text = fs::read_to_string(file(folder.path(), 3)).expect("text");
    let damaged = |change: &dyn Fn(&str) -> String, told: &str| {
        fs::write(file(folder.path(), 3), change(&text)).expect("written");
        assert_refused(&test(folder.path(), 3, &[]), told);
        assert_refused(&calibrate(folder.path(), 3, &[]), told);
    };
    damaged(&|t| t[..t.len() / 2].into(), "calibration/SIM-3.toml:");
    damaged(
        &|t| t.replace("gain = 0.9", "gain = 0.8").replace("gain = 1.0", "gain = 1.1"),
        "`gain` does not follow from the points",
    );
    damaged(&|t| t.replacen("reading_a = ", "reading_a = \"half\" # ", 1), "SIM-3.toml:");
    damaged(&|t| t.replacen("correlation", "corelation", 1), "is \"corelation\" meant to be it?");
    damaged(&|_| "\u{0}\u{1}".into(), "SIM-3.toml:");
}

#[test]
fn arguments_that_make_no_sense() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = |arguments: &[&str]| musterbench(folder.path(), arguments, "");
    let simulated = ["calibrate", "--port", "simulated", "--unattended"];
    let with = |more: &[&str]| run(&[&simulated[..], more].concat());
    for (ran, told) in [
        (run(&["calibrate"]), "no jig given"),
        (with(&["--channels", "5a"]), "a channel is feed, total, a clamp"),
        (with(&["--meter-accuracy", "0 %"]), "no meter is exact"),
        (with(&["--meter-accuracy", "good"]), "the accuracy of a meter is a share"),
        (with(&["--meter-accuracy", "0.1 %"]), "a reference meter of its own"),
        (with(&["--operator", &"M".repeat(121)]), "at most 120 characters"),
        (with(&["--resistors", "47"]), "the unit is missing"),
        (with(&["--resistors", "0 ohm"]), "1 ohm to 100 kohm"),
        (
            run(&["recheck", "--port", "simulated", "--clamp", "1c", "--resistor", "22 ohm ±1 %"]),
            "the clamps are 1a, 1b",
        ),
        (
            run(&["recheck", "--port", "simulated", "--clamp", "1a", "--resistor", "22 ohm"]),
            "no resistor is exact",
        ),
    ] {
        assert_refused(&ran, told);
    }
    assert!(!Path::new(&folder.path().join("calibration")).exists());
}
