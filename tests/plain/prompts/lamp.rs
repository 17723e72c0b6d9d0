//! The question about the lamp, on a jig that says it is a real one.

use super::jig::Jig;
use super::terminal::Terminal;
use musterbench::procedure::simulated_set_up::setup;
use musterbench::report::lamp_prompt::LAMP_ANSWER;
use musterbench::report::prompt::NO_ANSWER;
use musterbench::script::shipped;

const SCRIPT: &str = r#"
title = "The lamps"
steps = [
  { ask = "prepare", auxiliary = "off" },
  { feed = "on" },
  { lamp = "watch" },
  { lamp = "judge", blinks = 8 },
  { feed = "off" },
]
"#;

#[test]
fn only_its_four_answers_are_answers() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("lamps.toml"), SCRIPT).expect("written");
    // Two lamps that take turns: their sum does not tell their rhythm.
    let pier = include_str!("../../../fixtures/modules/pier-four.toml");
    let two = folder.path().join("two-lamps.toml");
    let pier = pier.replace("current = \"5 to 11 mA\"\n", "");
    std::fs::write(&two, pier.replace("[lamp]", "[lamp]\nlamps = 2")).expect("written");
    let kind = two.to_str().expect("a path");
    let sheet = shipped::module_sheet(kind).expect("a sheet");
    let folder = folder.path();
    let answers = [("1\n", 0), ("2\n", 1), ("q\n", 5), ("\u{3}", 5)];
    // Each at a jig of its own, at the same time: what takes long is that people and jigs are waited for.
    std::thread::scope(|scope| {
        for (nth, (answer, code)) in answers.into_iter().enumerate() {
            let sheet = &sheet;
            scope.spawn(move || {
                let mut bench = setup(sheet, None, Vec::new(), 1);
                bench.kind.lamp_difference = Some(0.0);
                let jig = Jig::with(bench);
                let module = format!("lock-{nth}");
                let mut arguments = vec!["test", "--module", &module, "--module-sheet", kind];
                arguments.extend(["--port", &jig.port, "--script", "lamps.toml"]);
                let mut person = Terminal::start(folder, &arguments);
                person.hears(musterbench::report::prompt::ANSWER);
                person.pauses();
                person.types("\n");
                while !jig.is_on() {
                    std::thread::sleep(core::time::Duration::from_millis(5));
                }
                person.types("1\n");
                person.hears("look at its status lamps. Touch nothing: the feed is on.");
                person.hears(LAMP_ANSWER);
                for nonsense in ["\n", "5\n", "yes\n", "1\n2\n"] {
                    person.pauses();
                    person.types(nonsense);
                    person.hears(NO_ANSWER);
                    person.hears(LAMP_ANSWER);
                }
                assert!(jig.is_on(), "it was kept alive");
                person.pauses();
                person.types(answer);
                let ended = person.ends();
                assert_eq!(ended, code, "{answer:?}: {}", person.everything());
                assert!(!jig.is_on());
            });
        }
    });
}
