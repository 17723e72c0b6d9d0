//! The program, run in a folder of its own.

use crate::kit::program;
use musterbench::calibration::file::Calibration;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Stdio;

/// What a command came to.
#[derive(Debug)]
pub struct Ran {
    pub code: i32,
    pub said: String,
    pub told: String,
}

/// Runs the program; `typed` is what the operator types.
pub fn musterbench(folder: &Path, arguments: &[&str], typed: &str) -> Ran {
    let mut child = program::musterbench(folder)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    // A program that has no use for it may have gone already.
    let _ = child.stdin.take().expect("piped").write_all(typed.as_bytes());
    let output = child.wait_with_output().expect("it ends");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    let ran = Ran {
        code: output.status.code().expect("not killed"),
        said: text(output.stdout),
        told: text(output.stderr),
    };
    assert!(!ran.told.contains("panicked"), "{}", ran.told);
    ran
}

/// `calibrate` on the simulated bench of a seed, nobody there.
pub fn calibrate(folder: &Path, seed: u64, arguments: &[&str]) -> Ran {
    let seed = seed.to_string();
    let mut all = vec!["calibrate", "--port", "simulated", "--unattended", "--seed", &seed];
    all.extend(arguments);
    musterbench(folder, &all, "")
}

/// `test` on the simulated bench of a seed.
pub fn test(folder: &Path, seed: u64, arguments: &[&str]) -> Ran {
    let seed = seed.to_string();
    let mut all = vec!["test", "--port", "simulated", "--unattended", "--seed", &seed];
    all.extend(["--module", "P4-1"]);
    all.extend(arguments);
    musterbench(folder, &all, "")
}

/// Where the calibration of a simulated jig lies.
pub fn file(folder: &Path, seed: u64) -> PathBuf {
    folder.join(format!("calibration/SIM-{seed}.toml"))
}

/// That calibration.
pub fn read(folder: &Path, seed: u64) -> Calibration {
    Calibration::read(&file(folder, seed)).expect("a calibration")
}
