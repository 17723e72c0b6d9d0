//! `musterbench address`: what it draws, and what it says to bad input.

use crate::kit::program::{assert_one_sentence, complaint, musterbench, said, whole_lines};
use std::process::Output;

fn address(arguments: &[&str]) -> Output {
    let folder = tempfile::tempdir().expect("a folder");
    musterbench(folder.path()).arg("address").args(arguments).output().expect("it starts")
}

#[test]
fn both_ways_say_the_same() {
    for (kind, first, switches) in [
        ("pier-four", "181", "00110001000"),
        ("quay-four", "217", "0010110"),
        ("jetty-two", "49", "00010101"),
    ] {
        for more in [&["--module-sheet", kind][..], &["--json", "--module-sheet", kind]] {
            let there = address(&[&[first], more].concat());
            let back = address(&[&["--switches", switches], more].concat());
            assert_eq!((complaint(&there).0, complaint(&back).0), (0, 0));
            assert_eq!(said(&there), said(&back));
        }
    }
}

#[test]
fn the_json_is_one_object() {
    let output = address(&["181", "--json"]);
    let told: serde_json::Value = serde_json::from_str(&said(&output)).expect("JSON");
    assert_eq!(told["first_address"], 181);
    assert_eq!(told["numbering"], "rcn-213");
    let outputs = told["outputs"].as_array().expect("a list");
    let addresses: Vec<_> = outputs.iter().map(|o| o["address"].clone()).collect();
    assert_eq!(addresses, [181, 182, 183, 184]);
    assert!(outputs.iter().all(|o| o["a"]["bytes"] != o["b"]["bytes"]), "{told}");
}

#[test]
fn it_is_drawn_with_its_caution() {
    let text = whole_lines(&said(&address(&["181", "--format", "trinary"])));
    for word in ["■", "power off", "Extra-low voltage only", "Digits: 0", "on is trinary"] {
        assert!(text.contains(word), "{word:?} is not in: {text}");
    }
}

#[test]
fn bad_input_is_one_sentence() {
    for (arguments, words) in [
        (&["0"][..], ["go from 1 to 2040", "nearest"]),
        (&["-1"], ["go from 1 to 2040", "nearest"]),
        (&["2041"], ["broadcast", "1857"]),
        (&["2045"], ["go from 1 to 2040", "1857"]),
        (&["321", "--format", "trinary"], ["go from 1 to 320", "317"]),
        (&["182"], ["cannot be set to first address 182", "181 and 185"]),
        (&["181", "--module-sheet", "quay-four", "--format", "trinary"], ["quay-four", "trinary"]),
        (&["181", "--format", "trinary", "--numbering", "rcn-213"], ["--numbering", "dcc"]),
        (&["181", "--module-sheet", "no-such"], ["no-such", "pier-four"]),
        (&["--switches", "001"], ["3 digits", "11 switches"]),
        (&["--switches", "00110100012"], ["neither 0 nor 1", "11 switches"]),
        (&["--switches", "11111111111"], ["first address 1857", "1 to 320"]),
        (&["--switches", "00000000000"], ["first address -3", "nearest"]),
    ] {
        let output = address(arguments);
        let (code, text) = complaint(&output);
        assert_eq!(code, 2, "{arguments:?}: {text}");
        assert_one_sentence(&text);
        assert!(words.iter().all(|word| text.contains(word)), "{arguments:?}: {text}");
        assert_eq!(said(&output), "");
    }
}

/// What the parser of the command line refuses is said in plain words too.
#[test]
fn arguments_that_are_none() {
    for (arguments, word) in [
        (&["text"][..], "an address is a whole number, such as 181"),
        (&["7.5"], "an address is a whole number, such as 181"),
        (&["--", "--"], "an address is a whole number, such as 181"),
        (&["99999999999999999999"], "no address has so many digits"),
        (&["181", "--switches", "0011010001"], "cannot be used with"),
        (&["--switches", "0011010001", "--format", "dcc"], "cannot be used with"),
        (&["181", "--format", "morse"], "a format is dcc or trinary"),
        (&["181", "--numbering", "mine"], "a numbering is rcn-213 or from-group-zero"),
        (&[], "<FIRST>"),
    ] {
        let (code, text) = complaint(&address(arguments));
        assert_eq!(code, 2, "{arguments:?}: {text}");
        assert!(text.contains(word), "{arguments:?}: {text}");
    }
}
