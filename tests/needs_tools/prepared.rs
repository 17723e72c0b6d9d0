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

/// Runs a script of a prepared folder on this program; panics with what it says unless it finds nothing wrong.
pub fn finds_nothing_wrong(name: &str, script: &str) {
    let python = prepare(name).unwrap_or_else(|why| panic!("{why}"));
    let output = Command::new(python)
        .arg(folder(name).join(script))
        .arg(env!("CARGO_BIN_EXE_musterbench"))
        .output()
        .expect("python starts");
    let said = String::from_utf8_lossy(&output.stdout);
    println!("{said}");
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
}
