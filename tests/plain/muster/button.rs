//! The start button of a jig, and a module that is seated and taken out by hand: a bench that is served at one
//! terminal, in real time, and a muster at another.

use crate::kit::program::{complaint, musterbench};
use crate::kit::terminal::Terminal;
use std::path::Path;

/// So short that it can be waited for.
const SHORT: &str = r#"
title = "A short one"
steps = [
  { ask = "prepare", auxiliary = "off" },
  { measure = "hook-up" },
  { loads = "jig" },
  { feed = "on" },
  { measure = "feed voltage" },
  { loads = "off" },
  { feed = "off" },
]
"#;

/// A bench that somebody tends, and a muster on it.
fn both(folder: &Path) -> (Terminal, Terminal) {
    std::fs::write(folder.join("short.toml"), SHORT).expect("written");
    let mut open = musterbench(folder);
    open.args(["lot", "open", "spring", "--count", "3", "--serial", "m-{}"]);
    open.args(["--script", "short.toml"]);
    assert_eq!(complaint(&open.output().expect("it starts")), (0, String::new()));
    let mut bench = Terminal::start(folder, &["simulate", "--attended", "--path-at", "jig"]);
    bench.hears("seats another one.");
    let muster =
        Terminal::start(folder, &["muster", "spring", "--port", "jig", "--operator", "Ines"]);
    (bench, muster)
}

#[test]
fn the_button_starts_once_and_not_before_the_last_module_has_left() {
    let folder = tempfile::tempdir().expect("a folder");
    let (mut bench, mut person) = both(folder.path());
    person.hears("SIMULATED");
    person.hears("seat m-01,");
    person.pauses();
    bench.types(" ");
    person.hears("TESTS  m-01");
    // A second press in the middle of the run is none.
    bench.types(" ");
    person.hears("1 of 3 done");
    person.hears("take m-01 out");
    person.pauses();
    person.types("\r");
    person.hears("First take m-01 out.");
    bench.types("o");
    person.hears("seat m-02,");
    person.pauses();
    assert!(!person.has_said("TESTS"), "{}", person.everything());
    bench.types("i");
    person.pauses();
    bench.types(" ");
    person.hears("TESTS  m-02");
    person.hears("2 of 3 done");
    bench.types("o");
    person.hears("seat m-03,");
    // Pulled out in the middle of its run: no try.
    bench.types("i");
    person.pauses();
    person.types("q");
    assert_eq!(person.ends(), 5, "{}", person.everything());
}
