//! What these tests need: the firmware, built for its processor, and the emulator.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// Set where nothing may be left out because a tool is missing.
const NOTHING_LEFT_OUT: &str = "MUSTERBENCH_ALL_CHECKS";

/// The folder of the emulator.
pub fn emulator() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/jig_emulator")
}

/// The firmware, or `None` where it cannot be built or run here: says so then, and fails where
/// everything must be checked.
pub fn firmware() -> Option<&'static Path> {
    static FIRMWARE: OnceLock<Result<PathBuf, String>> = OnceLock::new();
    match FIRMWARE.get_or_init(prepare) {
        Ok(path) => Some(path),
        Err(why) => {
            assert!(std::env::var_os(NOTHING_LEFT_OUT).is_none(), "{why}");
            println!("LEFT OUT: {why}");
            None
        }
    }
}

/// Builds the one and fetches the other.
fn prepare() -> Result<PathBuf, String> {
    let script = emulator().join("prepare");
    let done = Command::new(&script).output().map_err(|e| format!("{}: {e}", script.display()))?;
    if !done.status.success() {
        let said = String::from_utf8_lossy(&done.stderr);
        let last = said.trim().lines().last().unwrap_or("no reason given");
        return Err(format!("the jig's firmware cannot be built or run here: {last}"));
    }
    Ok(PathBuf::from(String::from_utf8_lossy(&done.stdout).trim()))
}
