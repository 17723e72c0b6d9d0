//! The build's own script: tells a release which commit it is built from.
//!
//! Only a release: the others would be built anew at every commit.

use std::process::Command;

fn git(arguments: &[&str]) -> Option<String> {
    let output = Command::new("git").args(arguments).output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

fn main() {
    println!("cargo:rerun-if-changed=src/commit.rs");
    println!("cargo:rerun-if-env-changed=MUSTERBENCH_COMMIT");
    let is_release = std::env::var("PROFILE").is_ok_and(|profile| profile == "release");
    // Whoever builds without the history (from an archive, say) may say it.
    let given = std::env::var("MUSTERBENCH_COMMIT").ok().filter(|commit| !commit.is_empty());
    let found = || {
        let log = git(&["rev-parse", "--git-path", "logs/HEAD"]).filter(|_| is_release)?;
        println!("cargo:rerun-if-changed={log}");
        git(&["rev-parse", "--short=12", "HEAD"])
    };
    let commit = given.or_else(found).unwrap_or_else(|| "not known".into());
    println!("cargo:rustc-env=MUSTERBENCH_COMMIT={commit}");
}
