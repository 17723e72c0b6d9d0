//! `musterbench rollcall`: what it prints, its exit codes, and what it says to bad input.

use crate::kit::program::{assert_one_sentence, complaint, musterbench, said};
use std::process::Output;

fn rollcall(arguments: &[&str]) -> Output {
    let folder = tempfile::tempdir().expect("a folder");
    let mut command = musterbench(folder.path());
    let output = command.arg("rollcall").args(arguments).output().expect("it starts");
    let left = std::fs::read_dir(folder.path()).expect("a folder").count();
    assert_eq!(left, 0, "nothing is recorded");
    output
}

#[test]
fn exit_codes_say_how_it_ends() {
    for (arguments, code) in [
        (&[][..], 0),
        (&["--address", "217", "--format", "dcc"], 0),
        (&["--fault", "one-group-away"], 1),
        (&["--fault", "feed-lead-off"], 1),
        (&["--module-sheet", "jetty-two", "--switches", "00000001"], 1),
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
    let output = rollcall(&["--port", "simulated", "--json", "--fault", "positions-swapped"]);
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
