//! A module on real loads does not answer where it should: before every address is asked, and the loads
//! move, somebody says yes.

use super::jig::Jig;
use super::terminal::Terminal;
use musterbench::procedure::simulated_set_up::setup;
use musterbench::report::prompt::{ANSWER, NO_ANSWER};
use musterbench::report::search_prompt::SEARCH_ANSWER;
use musterbench::script::shipped;
use musterbench::simulated_bench::faults::find;
use std::path::Path;

const KIND: &str = "quay-four";
const LOADS: &str = "crane-yard";

const SCRIPT: &str = r#"
title = "On real loads"
steps = [
  { ask = "prepare" },
  { loads = "real" },
  { feed = "on" },
  { send = "b", outputs = 3 },
  { send = "a", outputs = 3 },
  { measure = "load voltage", over = "100 ms" },
  { loads = "off" },
  { feed = "off" },
]
"#;

const QUESTION: &str = "search all addresses?";

/// A person in front of a run that has come to the question.
fn asked(folder: &Path, seed: u64) -> (Jig, Terminal) {
    std::fs::write(folder.join("real.toml"), SCRIPT).expect("written");
    let sheet = shipped::module_sheet(KIND).expect("shipped");
    let loads = shipped::load_sheet(LOADS).expect("shipped");
    let wrong = find("switch-set-wrong").expect("in the catalogue");
    let jig = Jig::with(setup(&sheet, Some(&loads), vec![(wrong, 1.0)], seed));
    let address = sheet.try_address.to_string();
    let mut arguments = vec!["test", "--module", "lock-7", "--port", &jig.port];
    arguments.extend(["--module-sheet", KIND, "--script", "real.toml", "--loads", LOADS]);
    arguments.extend(["--address", &address]);
    let mut person = Terminal::start(folder, &arguments);
    person.hears(ANSWER);
    person.pauses();
    person.types("\n");
    // Typed ahead, while the run goes on: that is no answer to a question that is not there yet.
    while !jig.is_on() {
        std::thread::sleep(core::time::Duration::from_millis(5));
    }
    person.types("y\n");
    person.hears(QUESTION);
    person.hears(SEARCH_ANSWER);
    person.pauses();
    assert!(!person.has_said("answers at"), "what was typed ahead was taken");
    (jig, person)
}

/// The facts file of the run.
fn facts(folder: &Path) -> String {
    let path = folder.join("records/unsorted/lock-7/run-001.facts.json");
    std::fs::read_to_string(path).expect("a facts file")
}

#[test]
fn only_yes_and_no_are_answers_and_no_ends_without_a_search() {
    let folder = tempfile::tempdir().expect("a folder");
    let (jig, mut person) = asked(folder.path(), 1);
    for nonsense in ["\n", "yes please\n", "ja\n", "1\n", "y\ny\n", "\u{1b}[A\n"] {
        person.types(nonsense);
        person.hears(NO_ANSWER);
        person.hears(SEARCH_ANSWER);
        person.pauses();
    }
    assert!(jig.is_on(), "it was kept alive");
    person.types("n\n");
    assert_eq!(person.ends(), 1, "{}", person.everything());
    assert!(!jig.is_on());
    assert!(person.text().contains("it was searched nowhere else"), "{}", person.everything());
    let facts = facts(folder.path());
    assert!(facts.contains("\"ending\": \"ended_early\""), "{facts}");
    assert!(facts.contains("\"address_found\": null"), "{facts}");
}

#[test]
fn q_and_ctrl_c_stop_and_yes_searches() {
    std::thread::scope(|scope| {
        for (seed, stop) in [(2, "q\n"), (3, "\u{3}")] {
            scope.spawn(move || {
                let folder = tempfile::tempdir().expect("a folder");
                let (jig, mut person) = asked(folder.path(), seed);
                person.types(stop);
                assert_eq!(person.ends(), 5, "{stop:?}: {}", person.everything());
                assert!(!jig.is_on());
                assert!(facts(folder.path()).contains("\"ending\": \"stopped\""));
            });
        }
        scope.spawn(|| {
            let folder = tempfile::tempdir().expect("a folder");
            let (jig, mut person) = asked(folder.path(), 4);
            person.types("y\n");
            assert_eq!(person.ends(), 1, "{}", person.everything());
            assert!(!jig.is_on());
            let text = person.text();
            assert!(text.contains("the module answers at"), "{}", person.everything());
            assert!(text.contains("power off, move switch"), "{}", person.everything());
            let facts = facts(folder.path());
            assert!(facts.contains("\"ending\": \"complete\""), "{facts}");
            assert!(!facts.contains("\"address_found\": null"), "{facts}");
        });
    });
}
