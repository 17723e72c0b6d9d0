//! The README and the page on loads show the true output of the program.
//!
//! Runs every `$` line of its console blocks in one empty folder, in order, and compares. With
//! `README_UPDATE=1` in the environment it writes what it saw into the README instead.

use crate::kit::program::program;
use std::path::Path;
use std::process::{Command, Stdio};

/// What a shell prints for one line of the README, both streams together.
fn output(line: &str, folder: &Path) -> String {
    let program = program();
    let program = program.parent().unwrap();
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap());
    let seen = Command::new("sh")
        .args(["-c", &format!("{{ {line}\n}} 2>&1")])
        .current_dir(folder)
        .env("PATH", path)
        .env("NO_COLOR", "1")
        .stdin(Stdio::null())
        .output()
        .unwrap();
    // CSV lines end with a carriage return, the README's do not; nor has it paths as Windows writes them.
    String::from_utf8(seen.stdout).unwrap().replace("\r\n", "\n").replace('\\', "/")
}

/// The README with each console block as the program prints it now.
fn as_run(readme: &str, folder: &Path) -> String {
    let mut text = String::new();
    let mut in_block = false;
    for line in readme.lines() {
        let fence = line.starts_with("```");
        if !in_block || fence || line.starts_with("$ ") {
            text.push_str(line);
            text.push('\n');
        }
        if fence {
            in_block = line == "```console";
        } else if in_block && let Some(command) = line.strip_prefix("$ ") {
            text.push_str(&output(command, folder));
        }
    }
    text
}

/// Compares a page with what the program prints now, or writes that into it.
fn check(page: &str, wanted: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(page);
    let text = std::fs::read_to_string(&path).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let seen = as_run(&text, folder.path());
    assert!(seen.contains(wanted), "{page} has no walk-through");
    if std::env::var_os("README_UPDATE").is_some() {
        std::fs::write(&path, &seen).unwrap();
        return;
    }
    let differs = text.lines().zip(seen.lines()).find(|(shown, now)| shown != now);
    assert!(
        seen == text,
        "{page} is no longer true, first at {differs:?}; run this test with README_UPDATE=1 and \
         look at the change"
    );
}

#[test]
fn the_readme_shows_true_output() {
    check("README.md", "$ musterbench test");
}

#[test]
fn the_page_on_loads_shows_true_output() {
    check("docs/loads.md", "$ musterbench load from-sample");
}
