//! Whether the jig has drifted.

use super::program::{Ran, calibrate, file, musterbench, read};
use musterbench::calibration::assess;
use std::path::Path;

fn recheck(folder: &Path, resistor: &str) -> Ran {
    let arguments = ["recheck", "--port", "simulated", "--unattended", "--clamp", "2a"];
    musterbench(folder, &[&arguments[..], &["--resistor", resistor]].concat(), "")
}

#[test]
fn a_jig_that_has_not_drifted_agrees() {
    let folder = tempfile::tempdir().expect("a folder");
    let without = recheck(folder.path(), "100 ohm ±0.1 %");
    assert_eq!(without.code, 0, "{without:?}");
    assert!(without.said.starts_with("SIMULATED: bench SIM-1\n"), "{}", without.said);
    assert!(without.said.contains("Calibration: none\nNo drift:"), "{}", without.said);
    assert_eq!(calibrate(folder.path(), 1, &["--channels", "2a"]).code, 0);
    let with = recheck(folder.path(), "100 ohm ±0.1 %");
    assert_eq!(with.code, 0, "{with:?}");
    assert!(with.said.contains("Calibration: SIM-1 2026-"), "{}", with.said);
}

/// A calibration whose references were all 1 % lower is that of a jig that reads 1 % more since.
#[test]
fn a_jig_that_has_drifted_is_found_out() {
    let folder = tempfile::tempdir().expect("a folder");
    assert_eq!(calibrate(folder.path(), 1, &["--channels", "2a"]).code, 0);
    let mut then = read(folder.path(), 1);
    let channel = &mut then.channels[0];
    channel.points.iter_mut().for_each(|p| p.reference *= 0.99);
    channel.fitted =
        assess::fit(&channel.points, &channel.accuracy, channel.linearity_a).expect("a line");
    std::fs::write(file(folder.path(), 1), then.to_toml()).expect("written");
    let found = recheck(folder.path(), "100 ohm ±0.1 %");
    assert_eq!(found.code, 1, "{found:?}");
    assert!(found.said.contains("DRIFTED"), "{}", found.said);
}

#[test]
fn a_coarse_resistor_decides_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let found = recheck(folder.path(), "22 ohm ±10 %");
    assert_eq!(found.code, 3, "{found:?}");
    assert!(found.said.contains("Not decided"), "{}", found.said);
}
