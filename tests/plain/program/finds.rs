//! What a script finds, on simulated benches.

use crate::kit::program::{complaint, musterbench, said};

fn finds(arguments: &str) -> std::process::Output {
    let folder = tempfile::tempdir().expect("a folder");
    let all = format!("script finds {arguments}");
    musterbench(folder.path()).args(all.split(' ')).output().expect("it starts")
}

/// The same number draws the same benches, on however many processors.
#[test]
fn what_a_script_finds_is_told_in_a_table() {
    let asked = "arrival --module-sheet quay-four --fault contact-burnt --fault lamp-dead --fault load-open \
                 --depth 0.05 --seed 7";
    let output = finds(asked);
    assert_eq!(output.status.code(), Some(0));
    let text = said(&output);
    assert!(text.starts_with("SIMULATED"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    insta::assert_snapshot!("finds", text);
    assert_eq!(said(&finds(asked)), text);
}

/// What is found is found from about the limit of the sheet on: 0.2 ohm in all, of which the contact has a
/// third already.
#[test]
fn a_burnt_contact_is_found_from_the_limit_of_the_sheet_on() {
    let asked = "arrival --module-sheet quay-four --fault contact-burnt --depth 0.1 --json";
    let json: serde_json::Value = serde_json::from_str(&said(&finds(asked))).expect("JSON");
    assert_eq!(json["simulated"], true);
    let fault = &json["faults"][0];
    let from = fault["found_from"].as_f64().expect("it is found");
    assert!((0.1..0.2).contains(&from), "{fault}");
    assert!(fault["found_from_mildest"].as_f64() <= Some(from), "{fault}");
    assert!(fault["found_from_worst"].as_f64() >= Some(from), "{fault}");
    assert_eq!(fault["told_by"]["quantity"], "contact_resistance", "{fault}");
    assert_eq!(fault["told_by"]["limit"], 0.2, "{fault}");
    let worst = &fault["at_worst"];
    assert_eq!(worst["of"], worst["runs"], "{fault}");
    assert_eq!(json["sound_failed"]["of"], 0);
    let costs = json["lines"].as_array().expect("lines").iter().map(|l| l["costs_s"].as_f64());
    assert!(costs.flatten().sum::<f64>() > 20.0, "{json}");
}

#[test]
fn a_row_for_each_severity_can_be_had() {
    let asked = "arrival --module-sheet quay-four --fault closers-dead --depth 0.05 --csv";
    let text = said(&finds(asked));
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("a row")).collect();
    assert_eq!(rows.len(), 8, "{text}");
    for row in &rows {
        assert_eq!((&row[0], &row[1]), ("true", "closers-dead"));
        let [runs, found] = [5, 6].map(|at| row[at].parse::<u32>().expect("a count"));
        assert!(runs > 0 && found <= runs, "{row:?}");
    }
}

#[test]
fn what_cannot_be_tried_is_told() {
    for (wrong, told) in [
        ("no-such-script", "no-such-script"),
        ("arrival --fault contact-burn", "contact-burnt"),
        ("arrival --depth 0", "0.05 to 1000"),
        ("in-place", "load"),
    ] {
        let (code, text) = complaint(&finds(wrong));
        assert_eq!(code, 2, "{wrong}: {text}");
        assert!(text.contains(told), "{wrong}: {text}");
    }
}

#[test]
fn what_is_not_found_cannot_be_kept() {
    let asked = "script shorten arrival --module-sheet jetty-two --keep load-open --out x.toml";
    let folder = tempfile::tempdir().expect("a folder");
    let output = musterbench(folder.path()).args(asked.split(' ')).output().expect("it starts");
    let (code, text) = complaint(&output);
    assert!(code == 2 && text.contains("load-open"), "{code} {text}");
}
