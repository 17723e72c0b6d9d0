//! A jig whose firmware was built without a serial number, as it is for these tests: no calibration is
//! made for it, and none is used.

use super::jig::Line;
use super::operator;
use super::rig::listening_jig;
use std::process::{Command, Output};

/// A short run.
const SCRIPT: &str = r#"
title = "Feed"
steps = [
  { ask = "prepare" },
  { feed = "on" },
  { measure = "feed voltage" },
  { feed = "off" },
]
"#;

/// Refused with one sentence that tells what to do.
fn assert_refused(output: &Output) {
    let said = String::from_utf8_lossy(&output.stderr);
    println!("{said}");
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("has no serial number") && said.contains("JIG_SERIAL"), "{said}");
}

#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_jig_without_a_serial_number_has_no_calibration() {
    let jig = listening_jig(&[], Line::Usb);
    let folder = operator::records();
    let calibration = folder.path().join("calibration");
    std::fs::create_dir(&calibration).expect("made");
    // Of another jig without a number: read, it would be a failure of its own.
    std::fs::write(calibration.join("0.toml"), "no calibration at all").expect("written");

    let refused = Command::new(env!("CARGO_BIN_EXE_musterbench"))
        .args([
            "calibrate",
            "--emulated",
            "--port",
            jig.path(),
            "--meter-accuracy",
            "0.05 % + 0.1 mA",
        ])
        .current_dir(folder.path())
        .output()
        .expect("the program");
    assert_refused(&refused);

    let script = folder.path().join("feed.toml");
    std::fs::write(&script, SCRIPT).expect("written");
    let chosen = ["--calibration".as_ref(), calibration.as_os_str()];
    let plain =
        ["--script".as_ref(), script.as_os_str(), "--records".as_ref(), folder.path().as_ref()];
    let (program, _terminal) =
        operator::test_in(folder.path(), jig.path(), &[&plain[..], &chosen[..]].concat());
    assert_refused(&program.wait_with_output().expect("it ended"));

    let (mut program, mut keyboard) = operator::test_in(folder.path(), jig.path(), &plain);
    let before = operator::answer(&mut program, &mut keyboard);
    let output = program.wait_with_output().expect("it ended");
    let said = before + &String::from_utf8_lossy(&output.stderr);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("Until then it counts as uncalibrated."), "{said}");
    let rows = std::fs::read_to_string(folder.path().join("unsorted/pier-07/run-001.csv"));
    let rows = rows.unwrap_or_else(|e| panic!("{e}: {said}"));
    println!("{rows}");
    assert!(rows.contains(",uncalibrated,"), "{rows}");
}
