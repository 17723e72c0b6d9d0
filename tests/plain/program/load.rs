//! `load check` and `load from-sample`.

use crate::kit::program::{assert_one_sentence, complaint, musterbench, said};
use musterbench::load::kinds::Part;
use musterbench::load::sheet::LoadSheet;
use musterbench::quantity::unit::Units;
use std::path::Path;
use std::process::Output;

fn load(folder: &Path, arguments: &[&str]) -> Output {
    musterbench(folder).arg("load").args(arguments).output().expect("it starts")
}

/// `load from-sample made.toml` of a quay lamp on the simulated bench.
fn sample(folder: &Path, arguments: &[&str]) -> Output {
    let mut all = vec!["from-sample", "made.toml", "--port", "simulated", "--clamp", "1a"];
    all.extend(["--loads", "harbour-basin", "--name", "quay lamps"]);
    all.extend(arguments);
    load(folder, &all)
}

/// The limits of the load in the sheet that was made, amperes.
fn limits(folder: &Path) -> [f64; 2] {
    let sheet = LoadSheet::read(&folder.join("made.toml")).expect("a load sheet");
    let load = sheet.clamps[0].as_ref().expect("a load at 1a");
    let [Part::Measured(measured)] = &load.circuit.parts[..] else { panic!("{load:?}") };
    let current = measured.current;
    [current.lower, current.upper].map(Units::si)
}

#[test]
fn a_sheet_is_looked_at_clamp_by_clamp() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = load(folder.path(), &["check", "crane-yard", "--why"]);
    assert_eq!(complaint(&output), (0, String::new()));
    insta::assert_snapshot!(said(&output));
    let output = load(folder.path(), &["check", "harbour-basin", "--json"]);
    assert_eq!(complaint(&output), (0, String::new()));
    let json: serde_json::Value = serde_json::from_str(&said(&output)).expect("JSON");
    let loads = json["loads"].as_array().expect("a list");
    assert_eq!(loads.len(), 7);
    for load in loads {
        let [low, nominal, high] =
            ["lowest_a", "nominal_a", "highest_a"].map(|key| load[key].as_f64().expect("a number"));
        assert!(0.0 < low && low < nominal && nominal < high, "{load}");
    }
}

#[test]
fn a_bad_sheet_gets_one_sentence_with_its_place() {
    let folder = tempfile::tempdir().expect("a folder");
    let bad = "title = \"x\"\n[supply]\nkind = \"dc\"\nvoltage = \"12 V\"\n[[load]]\n\
               name = \"x\"\nat = \"5a\"\nresistor = { resistance = \"22 ohm\" }\n";
    std::fs::write(folder.path().join("bad.toml"), bad).expect("written");
    let (code, text) = complaint(&load(folder.path(), &["check", "bad.toml"]));
    assert_eq!(code, 2);
    assert_one_sentence(&text);
    assert!(text.starts_with("musterbench: bad.toml:7:6: "), "{text}");
    let (code, text) = complaint(&load(folder.path(), &["check", "none.toml"]));
    assert_eq!(code, 2);
    assert_one_sentence(&text);
}

#[test]
fn a_sample_becomes_a_sheet_that_a_test_can_use() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = sample(folder.path(), &["--unattended"]);
    assert_eq!(complaint(&output).0, 0, "{output:?}");
    insta::assert_snapshot!(said(&output));
    let text = std::fs::read_to_string(folder.path().join("made.toml")).expect("written");
    insta::assert_snapshot!(text);
    // Nothing is left beside it.
    let names = std::fs::read_dir(folder.path()).expect("a folder").count();
    assert_eq!(names, 1);

    let arguments = ["test", "--port", "simulated", "--unattended", "--module", "P4-1"];
    let mut command = musterbench(folder.path());
    let run = command.args(arguments).args(["--script", "in-place", "--loads", "made.toml"]);
    let run = run.output().expect("it starts");
    assert_eq!(run.status.code(), Some(0), "{}", said(&run));
    // A load that draws a tenth less than the sample is found.
    let fault = ["--fault", "load-wrong-value=-0.1", "--seed", "1"];
    let mut command = musterbench(folder.path());
    let run = command.args(arguments).args(["--script", "in-place", "--loads", "made.toml"]);
    let run = run.args(fault).output().expect("it starts");
    assert_eq!(run.status.code(), Some(1), "{}", said(&run));
}

/// Several specimens widen the limits by what they differ by, and a calibration narrows what all
/// measurements share.
#[test]
fn specimens_and_calibrations_show_in_the_limits() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    assert_eq!(sample(folder, &["--times", "4"]).status.code(), Some(0));
    let [low, high] = limits(folder);
    let several = ["--specimens", "5", "--times", "2", "--replace", "--json"];
    let output = sample(folder, &several);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let json: serde_json::Value = serde_json::from_str(&said(&output)).expect("JSON");
    assert_eq!((&json["simulated"], &json["counted"]), (&true.into(), &5.into()));
    assert!(json["calibration"].is_null());
    let [wide_low, wide_high] = limits(folder);
    assert!(wide_high - wide_low > 2.0 * (high - low), "{wide_low} {wide_high}");

    let calibrate = ["calibrate", "--port", "simulated", "--unattended", "--channels", "1a"];
    let output = musterbench(folder).args(calibrate).output().expect("it starts");
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let output = sample(folder, &["--times", "4", "--replace", "--json"]);
    let calibrated: serde_json::Value = serde_json::from_str(&said(&output)).expect("JSON");
    let name = calibrated["calibration"].as_str().expect("a name");
    assert!(name.starts_with("SIM-1 "), "{name}");
    let common =
        |json: &serde_json::Value| json["common_uncertainty_a"].as_f64().expect("a number");
    assert!(common(&calibrated) < common(&json), "{calibrated} {json}");
    let text = std::fs::read_to_string(folder.join("made.toml")).expect("written");
    assert!(text.contains("calibration SIM-1 "), "{text}");
}

#[test]
fn what_makes_no_sound_sheet_gets_one_sentence_and_leaves_no_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let one = "title = \"one\"\n[supply]\nkind = \"dc\"\nvoltage = \"12 V ±5 %\"\n[[load]]\n\
               name = \"quay lamps\"\nat = \"1a\"\nlamp = { rated_voltage = \"12 V\", \
               rated_current = \"150 mA\", inrush_ratio = 8, warm_up = \"4 ms\" }\n";
    std::fs::write(folder.join("one.toml"), one).expect("written");
    let cases: &[(&[&str], i32, &str)] = &[
        (&["--times", "3"], 2, "3 measurements are too few"),
        (&["--specimens", "2"], 2, "2 specimens are too few"),
        (&["--coverage", "100 %"], 2, "between 0 % and 100 %"),
        (&["--settle", "10 ms"], 2, "the current still moves"),
        (&["--settle", "10 s"], 2, "the load may be on for 5.0 s only"),
        (&["--supply", "16 V ±5 %"], 2, "not within what --supply says"),
        (&["--fault", "load-open"], 2, "look whether it is connected"),
        (&["--fault", "load-shorted"], 4, "the load supply trips with this load"),
        (&["--title", ""], 2, "title"),
    ];
    for (arguments, wanted, sentence) in cases {
        let mut all = vec!["from-sample", "made.toml", "--name", "quay lamps", "--clamp", "1a"];
        all.extend(["--port", "simulated", "--loads", "one.toml"]);
        all.extend(*arguments);
        let (code, text) = complaint(&load(folder, &all));
        assert_eq!(code, *wanted, "{arguments:?}: {text}");
        assert!(text.contains(sentence), "{arguments:?}: {text}");
        assert!(!folder.join("made.toml").exists(), "{arguments:?}");
    }
    let bare = ["from-sample", "made.toml", "--port", "simulated", "--name", "x", "--clamp"];
    for (arguments, sentence) in [
        (&["4b", "--loads", "harbour-basin"][..], "nothing at clamp 4b"),
        (&["1a"], "nothing hangs on the simulated bench"),
        (&["9a", "--loads", "harbour-basin"], "the clamps are 1a"),
    ] {
        let (code, text) = complaint(&load(folder, &[&bare[..], arguments].concat()));
        assert_eq!(code, 2, "{arguments:?}: {text}");
        assert!(text.contains(sentence), "{arguments:?}: {text}");
    }
}

#[test]
fn a_sheet_that_is_there_is_kept_unless_it_shall_be_replaced() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("made.toml");
    std::fs::write(&path, "mine").expect("written");
    let (code, text) = complaint(&sample(folder.path(), &[]));
    assert_eq!(code, 2);
    assert_one_sentence(&text);
    assert_eq!(std::fs::read_to_string(&path).expect("there"), "mine");
    assert_eq!(sample(folder.path(), &["--replace", "--times", "4"]).status.code(), Some(0));
    assert_ne!(std::fs::read_to_string(&path).expect("there"), "mine");
}
