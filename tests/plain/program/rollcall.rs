//! `musterbench rollcall`: what it prints, its exit codes, and what it says to bad input.

use crate::kit::program::{assert_one_sentence, complaint, musterbench, said};
use std::process::Output;

fn rollcall(arguments: &[&str]) -> Output {
    let folder = tempfile::tempdir().expect("a folder");
    let mut command = musterbench(folder.path());
    let output = command.arg("rollcall").args(arguments).output().expect("it starts");
    let report = folder.path().join("records/unsorted/unnamed/run-001.csv");
    assert_eq!(report.exists(), output.status.code() != Some(2), "a record like any run");
    output
}

#[test]
fn exit_codes_say_how_it_ends() {
    for (arguments, code) in [
        (&[][..], 0),
        (&["--address", "217", "--format", "dcc"], 0),
        (&["--fault", "one-group-away"], 0),
        (&["--address", "181", "--fault", "one-group-away"], 1),
        (&["--fault", "feed-lead-off"], 3),
        (&["--address", "181", "--fault", "feed-lead-off"], 1),
        (&["--module-sheet", "jetty-two", "--switches", "00000001"], 0),
        (&["--seated", "quay-four"], 0),
        (&["--address", "181", "--module-sheet", "pier-four", "--seated", "quay-four"], 1),
    ] {
        let output = rollcall(&[&["--port", "simulated"], arguments].concat());
        assert_eq!(complaint(&output), (code, String::new()), "{arguments:?}");
        let text = said(&output);
        for words in ["SIMULATED: bench SIM-1; no real module was asked", "To do:", "the bound is"]
        {
            assert!(text.contains(words), "{text}");
        }
    }
}

#[test]
fn the_json_is_one_object() {
    let output = rollcall(&[
        "--port",
        "simulated",
        "--address",
        "181",
        "--json",
        "--fault",
        "positions-swapped",
    ]);
    let told: serde_json::Value = serde_json::from_str(&said(&output)).expect("JSON");
    assert_eq!((&told["simulated"], &told["verdict"]), (&true.into(), &"fail".into()));
    let outputs = told["outputs"].as_array().expect("a list");
    let swapped = outputs.iter().filter(|o| o["sense"] == "swapped");
    assert_eq!((outputs.len(), swapped.count()), (4, 1));
    assert!(told["sent"]["packets"].as_u64() <= told["bound"]["packets"].as_u64());
}

#[test]
fn a_neighbour_is_told() {
    let output = rollcall(&[
        "--port",
        "simulated",
        "--module-sheet",
        "jetty-two",
        "--all",
        "--beside",
        "00000001",
    ]);
    assert!(said(&output).contains("another module answers at trinary 1, trinary 2"), "{output:?}");
}

#[test]
fn bad_input_is_one_sentence() {
    for (arguments, words) in [
        (&[][..], "--port"),
        (&["--port", "simulated", "--address", "0"], "go from 1 to 2040"),
        (&["--port", "simulated", "--address", "-1"], "no address -1"),
        (&["--port", "simulated", "--address", "2041"], "broadcast"),
        (&["--port", "simulated", "--address", "2045"], "go from 1 to 2040"),
        (&["--port", "simulated", "--address", "70000"], "no address 70000"),
        (&["--port", "simulated", "--address", "318", "--format", "trinary"], "go from 1 to 320"),
        (&["--port", "simulated", "--switches", "001"], "11 switches"),
        (&["--port", "simulated", "--beside", "00110100012"], "11 switches"),
        (&["--port", "/dev/null", "--switches", "00110001000"], "simulated bench only"),
        (&["--port", "/dev/null", "--seed", "3"], "simulated bench only"),
        (&["--port", "simulated", "--module-sheet", "no-such"], "no-such"),
    ] {
        let output = rollcall(arguments);
        let (code, text) = complaint(&output);
        assert_eq!(code, 2, "{arguments:?}: {text}");
        assert_one_sentence(&text);
        assert!(text.contains(words), "{arguments:?}: {text}");
        assert_eq!(said(&output), "");
    }
}

/// The test goes on where the roll-call ended: it knows kind, address and format.
#[test]
fn a_test_goes_on_from_what_was_found() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = |arguments: &[&str]| {
        let mut command = musterbench(folder.path());
        command.args(arguments).args(["--port", "simulated"]).output().expect("it starts")
    };
    let found = run(&["rollcall", "--module", "lock-7", "--seated", "quay-four"]);
    assert!(said(&found).starts_with("FOUND  quay-four, first address dcc"), "{found:?}");
    let report = "records/unsorted/lock-7/run-001.csv";
    let tested = run(&["test", "--module", "lock-7", "--as-found", report, "--unattended"]);
    assert_eq!(complaint(&tested), (0, String::new()), "{}", said(&tested));
    let facts = std::fs::read(folder.path().join("records/unsorted/lock-7/run-002.facts.json"));
    let facts: serde_json::Value = serde_json::from_slice(&facts.expect("kept")).expect("JSON");
    assert_eq!(facts["facts"]["kind"], "quay-four");
    assert!(facts["facts"]["address_wanted"].is_null());
    assert!(facts["facts"]["address_found"].is_u64());
    let silent = run(&["rollcall", "--module", "lock-8", "--fault", "feed-lead-off"]);
    assert_eq!(complaint(&silent).0, 3);
    let nothing = "records/unsorted/lock-8/run-001.csv";
    let refused = run(&["test", "--module", "lock-8", "--as-found", nothing, "--unattended"]);
    let (code, sentence) = complaint(&refused);
    assert_eq!(code, 2, "{sentence}");
    assert_one_sentence(&sentence);
    assert!(sentence.contains("nothing was found to answer"), "{sentence}");
}
