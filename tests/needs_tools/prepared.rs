//! What a tool needs is built or fetched by a script of its own, `prepare`.

use std::path::{Path, PathBuf};
use std::process::Command;

/// A folder of `tests`.
pub fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(name)
}

/// Runs `prepare` of a folder: the path that it prints, or why there is none.
pub fn prepare(name: &str) -> Result<PathBuf, String> {
    let script = folder(name).join("prepare");
    let done = Command::new(&script).output().map_err(|e| format!("{}: {e}", script.display()))?;
    if !done.status.success() {
        let said = String::from_utf8_lossy(&done.stderr);
        let last = said.trim().lines().last().unwrap_or("no reason given");
        return Err(format!("{}: {last}", script.display()));
    }
    Ok(PathBuf::from(String::from_utf8_lossy(&done.stdout).trim()))
}
