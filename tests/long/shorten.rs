//! A shorter script, proposed and proven.

use crate::kit::program::{complaint, musterbench, said};

/// What is asked for is still found, the rest may go; and what is written is a script that can be carried out.
#[test]
#[ignore = "a minute; `.ci/run` asks for it"]
fn a_shorter_script_finds_what_is_asked_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = |asked: &str| {
        let output = musterbench(folder.path()).args(asked.split(' ')).output().expect("it starts");
        (output.status.code(), said(&output))
    };
    let asked = "script shorten arrival --module-sheet jetty-two --keep contact-burnt --keep slow-boot --out \
                 short.toml";
    let (code, text) = run(asked);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.starts_with("SIMULATED"), "{text}");
    let script = std::fs::read_to_string(folder.path().join("short.toml")).expect("written");
    println!("{text}\n{script}");
    assert!(script.starts_with("# Made from arrival"), "{script}");
    // Nothing of these two shows there.
    for gone in ["hook-up", "lamp", "both polarities", "feed voltage"] {
        assert!(!script.contains(gone), "{gone}: {script}");
    }
    let (code, checked) = run("script check short.toml --module-sheet jetty-two");
    assert_eq!(code, Some(0), "{checked}");
    let (code, found) = run(
        "script finds short.toml --module-sheet jetty-two --fault contact-burnt --fault slow-boot --depth 0.05 \
         --json",
    );
    assert_eq!(code, Some(0), "{found}");
    let found: serde_json::Value = serde_json::from_str(&found).expect("JSON");
    for fault in found["faults"].as_array().expect("faults") {
        assert_eq!(fault["at_worst"]["of"], fault["at_worst"]["runs"], "{fault}");
    }
    // Nothing is written over unasked; and the same number proposes the same script.
    let output = musterbench(folder.path()).args(asked.split(' ')).output().expect("it starts");
    assert_eq!(complaint(&output).0, 2);
    assert_eq!(run(&format!("{asked} --replace")).0, Some(0));
    let again = std::fs::read_to_string(folder.path().join("short.toml")).expect("written");
    assert_eq!(again, script);
}
