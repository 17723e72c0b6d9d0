//! `calibrate`: the resistors are connected, and the meter is read.

use super::at_each_of_three;
use super::terminal::Terminal;
use musterbench::report::calibration_prompt::METER;
use musterbench::report::prompt::{ANSWER, NO_ANSWER};

#[test]
fn every_question_is_asked_again_until_it_is_answered() {
    let folder = tempfile::tempdir().expect("a folder");
    let arguments = [
        "calibrate",
        "--port",
        "simulated",
        "--channels",
        "1b",
        "--resistors",
        "100 ohm,47 ohm,22 ohm",
    ];
    let mut person = Terminal::start(folder.path(), &arguments);
    person.types("\n\n");
    person.hears("Extra-low voltage only, never mains.");
    person.hears("Jig SIM-1: disconnect all real loads from the clamps.");
    person.hears(ANSWER);
    person.pauses();
    person.types("ready\n");
    person.hears(NO_ANSWER);
    person.hears(ANSWER);
    person.pauses();
    person.types("\n");
    for (ohm, nonsense) in [("100 Ω", "half an ampere\n"), ("47 Ω", "7\n"), ("22 Ω", "mA\n")] {
        person.hears(&format!("Jig SIM-1: connect about {ohm}"));
        person.hears(ANSWER);
        person.pauses();
        person.types("not yet\n");
        person.hears(NO_ANSWER);
        person.hears(ANSWER);
        person.pauses();
        person.types("\n");
        person.hears("SIMULATED: the reference meter shows");
        person.hears(METER);
        person.pauses();
        person.types(nonsense);
        person.hears(METER);
        person.pauses();
        person.types("\n");
    }
    assert_eq!(person.ends(), 0, "{}", person.everything());
    assert!(person.everything().contains("type what the meter shows, with its unit"));
}

#[test]
fn stopped_at_each_question_it_leaves_everything_off_and_keeps_what_is_done() {
    at_each_of_three(stopped_at);
}

fn stopped_at(question: usize, stop: &str) {
    let folder = tempfile::tempdir().expect("a folder");
    let arguments = ["calibrate", "--port", "simulated", "--channels", "1a"];
    let mut person = Terminal::start(folder.path(), &arguments);
    for _ in 0..question {
        person.hears(": ");
        person.hears("and Enter to stop");
        person.pauses();
        person.types("\n");
    }
    person.hears("and Enter to stop");
    person.pauses();
    person.types(stop);
    assert_eq!(person.ends(), 5, "{}", person.everything());
    assert!(person.has_said("stopped; everything is off"), "{}", person.everything());
}

#[test]
fn without_a_terminal_nobody_is_asked() {
    let folder = tempfile::tempdir().expect("a folder");
    for arguments in [
        ["calibrate", "--port", "simulated"].as_slice(),
        &["recheck", "--port", "simulated", "--clamp", "1a", "--resistor", "22 ohm ±1 %"],
        &["test", "--port", "simulated", "--module", "lock-7"],
    ] {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_musterbench"));
        command.current_dir(folder.path()).args(arguments).stdin(std::process::Stdio::piped());
        let output = command.output().expect("it starts");
        let told = String::from_utf8(output.stderr).expect("text");
        assert_eq!(output.status.code(), Some(2), "{told}");
        let told = crate::kit::program::whole_lines(&told);
        assert!(told.contains("no terminal to ask at"), "{told}");
    }
}
