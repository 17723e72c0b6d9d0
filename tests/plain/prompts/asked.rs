//! `test`: the module is seated, its slider moved, and something done in a script's own words.

use super::at_each_of_three;
use super::jig::{Jig, real_jig};
use super::terminal::{COLUMNS, Terminal};
use musterbench::report::prompt::{ANSWER, NO_ANSWER};
use musterbench::script::shipped;
use std::path::Path;

/// A kind that has an auxiliary supply.
const KIND: &str = "jetty-two";

/// All three kinds of questions, and a feed that stays on between them.
const SCRIPT: &str = r#"
title = "Three questions"
steps = [
  { ask = "prepare", auxiliary = "off" },
  { feed = "on" },
  { measure = "feed voltage" },
  { ask = "slider", auxiliary = "on" },
  { feed = "off" },
  { ask = "other", say = "Put the cover on" },
]
"#;

fn test(folder: &Path, jig: &Jig, more: &[&str]) -> Terminal {
    std::fs::write(folder.join("three.toml"), SCRIPT).expect("written");
    let mut arguments = vec!["test", "--module", "lock-7", "--port", &jig.port];
    let address = shipped::module_sheet(KIND).expect("shipped").try_address.to_string();
    arguments.extend(["--module-sheet", KIND, "--script", "three.toml", "--address", &address]);
    arguments.extend(more);
    Terminal::start(folder, &arguments)
}

#[test]
fn what_is_typed_ahead_and_nonsense_turn_nothing_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let jig = real_jig(KIND);
    let mut person = test(folder.path(), &jig, &[]);
    // Before there is a question at all.
    person.types("\n\n\n");
    person.hears(ANSWER);
    for nonsense in ["no, wait\n", "quit\n", " \n", "\u{1b}[A\n", "4012345678901\n"] {
        person.pauses();
        person.types(nonsense);
        person.hears(NO_ANSWER);
        person.hears(ANSWER);
    }
    // A scanner ends its line twice; a paste brings an empty line along; a key is held down.
    for burst in ["P4-1\r\n", "no\n\n\n", "\n\n\n\n"] {
        person.pauses();
        person.types(burst);
        person.hears(NO_ANSWER);
        person.hears(ANSWER);
    }
    assert_eq!(jig.turned_on(), 0);

    // Done. The next Enter is typed while the run goes on, before it is asked for the slider.
    person.pauses();
    person.types("\n");
    person.types("\n");
    assert!(person.hears_one_of(&["slide its auxiliary supply to ON", NO_ANSWER]) == 1);
    person.hears(ANSWER);
    person.pauses();
    person.types("\n");
    while !jig.is_on() {
        std::thread::sleep(core::time::Duration::from_millis(5));
    }
    person.types("\n");
    person.hears("slide its auxiliary supply to ON");
    person.hears(ANSWER);
    person.pauses();
    assert!(!person.has_said(ANSWER), "what was typed ahead was taken: {}", person.everything());
    person.types("q\n");
    assert_eq!(person.ends(), 5);
    assert!(!jig.is_on());
    assert!(person.text().contains("Stopped by the operator"), "{}", person.everything());
    let report = folder.path().join("records/unsorted/lock-7/run-001.csv");
    let kept = std::fs::read_to_string(report).expect("a report");
    assert!(kept.contains("feed_voltage"), "{kept}");
    let facts = folder.path().join("records/unsorted/lock-7/run-001.facts.json");
    let facts = std::fs::read_to_string(facts).expect("a facts file");
    assert!(facts.contains("\"ending\": \"stopped\""), "{facts}");
}

#[test]
fn each_prompt_says_module_address_and_what_to_do_and_rings() {
    let folder = tempfile::tempdir().expect("a folder");
    for quiet in [false, true] {
        let jig = real_jig(KIND);
        let mut person = test(folder.path(), &jig, if quiet { &["--quiet"] } else { &[] });
        let address = shipped::module_sheet(KIND).expect("shipped").try_address;
        for what in [
            "seat it, set its switches as drawn, slider to OFF.",
            "slide its auxiliary supply to ON.",
            "Put the cover on",
        ] {
            person.hears(&format!("lock-7, address {address}: {what}"));
            person.hears(ANSWER);
            person.pauses();
            person.types("\n");
        }
        person.ends();
        let said = person.everything();
        assert_eq!(said.matches('\u{7}').count(), if quiet { 0 } else { 3 }, "{said:?}");
        for line in said.lines().filter(|line| line.contains("lock-7, address")) {
            assert!(line.trim_end().chars().count() <= usize::from(COLUMNS), "{line}");
        }
    }
}

#[test]
fn ctrl_c_and_q_stop_at_each_question() {
    at_each_of_three(stopped_at);
}

fn stopped_at(question: usize, stop: &str) {
    let folder = tempfile::tempdir().expect("a folder");
    let jig = real_jig(KIND);
    let mut person = test(folder.path(), &jig, &[]);
    for _ in 0..question {
        person.hears(ANSWER);
        person.pauses();
        person.types("\n");
    }
    person.hears(ANSWER);
    // A person may take longer than the jig's silence limit: it is kept alive.
    person.types(stop);
    assert_eq!(person.ends(), 5, "{question} {stop:?}: {}", person.everything());
    assert!(!jig.is_on());
}

#[test]
fn the_jig_is_kept_alive_for_as_long_as_a_person_takes() {
    let folder = tempfile::tempdir().expect("a folder");
    let jig = real_jig(KIND);
    let mut person = test(folder.path(), &jig, &[]);
    person.hears(ANSWER);
    person.pauses();
    person.types("\n");
    person.hears("slide its auxiliary supply to ON");
    // Longer than the silence limit, after which a jig turns the feed off.
    std::thread::sleep(core::time::Duration::from_secs(7));
    assert!(jig.is_on());
    person.types("q\n");
    assert_eq!(person.ends(), 5);
}
