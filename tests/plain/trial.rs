//! `musterbench trial`, with the whole program, on simulated reports.

use crate::kit::program::musterbench;
use musterbench::judge::reading::{Quantity, Reading, Verdict};
use musterbench::record::facts::{FORMAT, Facts};
use musterbench::record::row::KeptReading;
use musterbench::record::run_record::{Closing, Planned, RunEnding, RunRecord};
use std::fs;
use std::path::Path;
use std::process::Output;

/// What readings scatter by, amperes: steps between modules and between operators, and how far a
/// pass strays.
struct Scatter {
    modules: f64,
    operators: f64,
    repeated: f64,
}

fn facts(module: usize, operator: &str, run: u32, simulated: bool) -> Facts {
    Facts {
        format: FORMAT,
        module: format!("P4-{module}"),
        lot: "quay".into(),
        run,
        started: "2026-01-05T09:00:00+00:00".into(),
        operator: operator.into(),
        jig: "SIM-7".into(),
        firmware: "1.0".into(),
        simulated,
        script: "arrival".into(),
        kind: Some("pier-four".into()),
        ..Facts::default()
    }
}

fn reading(quantity: Quantity, value: Option<f64>, upper_limit: f64) -> Reading {
    Reading {
        value,
        lower_limit: Some(0.015),
        upper_limit: Some(upper_limit),
        ..Reading::bare("feed on", quantity, Verdict::Pass)
    }
}

fn write(folder: &Path, facts: &Facts, readings: &[Reading]) -> String {
    let record = RunRecord {
        facts: facts.clone(),
        planned: Planned::default(),
        self_test: None,
        readings: readings.iter().map(KeptReading::of).collect(),
        closing: Closing {
            verdict: Verdict::Pass,
            blame: None,
            ending: RunEnding::Complete,
            reason: None,
            steps: 0,
            accepting_risk: None,
            rejecting_risk: None,
            address_found: None,
            command_format_found: None,
            kind_found: None,
            finding: None,
            suspects: None,
        },
    };
    let name = format!("{}-{}-{}.csv", facts.module, facts.operator, facts.run);
    fs::write(folder.join(&name), record.report()).expect("written");
    name
}

/// A study of four modules, some operators, three passes: the names of its reports.
fn study(folder: &Path, operators: &[&str], scatter: &Scatter) -> Vec<String> {
    let mut names = Vec::new();
    for module in 0..4 {
        for (o, operator) in operators.iter().enumerate() {
            for pass in 0..3 {
                let wobble = ((module * 7 + o * 5 + pass * 11) % 9) as f64 / 4.0 - 1.0;
                let value = 0.0275
                    + scatter.modules * (module as f64 - 1.5)
                    + scatter.operators * (o as f64 - 1.0)
                    + scatter.repeated * wobble;
                let run = (o * 3 + pass + 1) as u32;
                let readings = [
                    reading(Quantity::IdleCurrent, Some(value), 0.04),
                    reading(Quantity::UnwantedMoves, Some(0.0), 0.0),
                ];
                names.push(write(folder, &facts(module, operator, run, true), &readings));
            }
        }
    }
    names
}

fn trial(folder: &Path, arguments: &[&str], reports: &[String]) -> (i32, String, String) {
    let Output { status, stdout, stderr } =
        musterbench(folder).arg("trial").args(arguments).args(reports).output().expect("it starts");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    let told = text(stderr);
    assert!(!told.contains("panicked"), "{told}");
    (status.code().expect("not killed"), text(stdout), told)
}

/// The simulated bench is one jig: the same module in another pass reads nearly the same, another
/// module does not.
#[test]
fn passes_on_the_simulated_bench_differ_less_than_modules() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut reports = Vec::new();
    for module in ["1", "2", "3"] {
        for pass in ["1", "2"] {
            let name = format!("pier-0{module}");
            let run = musterbench(folder.path())
                .args(["test", "--port", "simulated", "--unattended", "--module", &name])
                .args(["--module-seed", module, "--run-seed", &format!("{module}{pass}")])
                .output()
                .expect("it starts");
            assert!(run.status.success(), "{run:?}");
            reports.push(format!("records/unsorted/{name}/run-00{pass}.csv"));
        }
    }
    let given = ["--json", "--quantity", "idle_current"];
    let (code, said, told) = trial(folder.path(), &given, &reports);
    assert_eq!((code, told.as_str()), (0, ""), "{said}");
    let told: serde_json::Value = serde_json::from_str(&said).expect("JSON");
    assert_eq!(told["simulated"], true);
    let part = |i: usize| told["readings"][0]["parts"][i]["deviation"].as_f64().expect("a number");
    let last = told["readings"][0]["parts"].as_array().expect("a list").len() - 1;
    assert!(part(0) > 0.0, "noise differs from pass to pass: {said}");
    assert!(part(last) > 20.0 * part(0), "modules differ: {said}");
}

/// Some current at rest, amperes.
const IDLE: f64 = 0.03;

const OPERATORS: [&str; 3] = ["ines", "jon", "mira"];

/// Little of the 25 mA between the limits.
const QUIET: Scatter = Scatter { modules: 2e-3, operators: 1e-5, repeated: 1e-4 };

#[test]
fn a_quiet_bench_is_good_enough() {
    let folder = tempfile::tempdir().expect("a folder");
    let names = study(folder.path(), &OPERATORS, &QUIET);
    let (code, said, told) = trial(folder.path(), &[], &names);
    assert_eq!((code, told.as_str()), (0, ""), "{said}");
    assert!(said.starts_with("SIMULATED"), "{said}");
    insta::assert_snapshot!(said);
}

#[test]
fn a_restless_bench_is_not_and_a_bench_between_cannot_be_told() {
    for (repeated, wanted, words) in
        [(5e-3, 1, "NOT GOOD ENOUGH"), (1.9e-3, 3, "CANNOT BE TOLD"), (2e-4, 0, "GOOD ENOUGH")]
    {
        let folder = tempfile::tempdir().expect("a folder");
        let names = study(folder.path(), &OPERATORS, &Scatter { repeated, ..QUIET });
        let (code, said, _) = trial(folder.path(), &["--quantity", "idle_current"], &names);
        assert_eq!(code, wanted, "{said}");
        assert!(said.contains(&format!("\n{words}: ")), "{said}");
    }
}

#[test]
fn operators_who_differ_are_seen() {
    let folder = tempfile::tempdir().expect("a folder");
    let names = study(folder.path(), &OPERATORS, &Scatter { operators: 4e-3, ..QUIET });
    let (code, said, _) = trial(folder.path(), &["--json"], &names);
    let told: serde_json::Value = serde_json::from_str(&said).expect("JSON");
    // 96 % of 25 mA; with two degrees of freedom from 50 % on (chi-square 7.38), which is too much.
    assert_eq!((code, told["verdict"].as_str()), (1, Some("not good enough")));
    assert_eq!(told["simulated"], true);
    let readings = told["readings"].as_array().expect("a list");
    assert_eq!(readings.len(), 1, "counts are left out");
    let part = |i: usize| readings[0]["parts"][i]["deviation"].as_f64().expect("a number");
    // The operators are 4 mA apart from each other, in equal steps: a standard deviation of 4 mA.
    assert!((part(1) - 4e-3).abs() < 1e-4, "{said}");
    assert!(part(0) < 2e-4, "{said}");
    // Modules in equal steps of 2 mA: the standard deviation of -3, -1, 1, 3.
    assert!((part(3) - (20e-6f64 / 3.0).sqrt()).abs() < 1e-4, "{said}");
}

#[test]
fn one_operator_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let names = study(folder.path(), &["ines"], &QUIET);
    let (code, said, _) = trial(folder.path(), &[], &names);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("One operator only"), "{said}");
}

#[test]
fn what_is_missing_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let names = study(folder.path(), &OPERATORS, &QUIET);
    for (reports, words) in [
        (&names[..names.len() - 1], "module P4-3 by mira has 2 of 3 readings"),
        (&names[..9], "at least two modules are needed"),
        (&names[..1], "at least two modules are needed"),
    ] {
        let (code, said, _) = trial(folder.path(), &[], reports);
        assert_eq!(code, 3, "{said}");
        assert!(unbroken(&said).contains(words), "{words}: {said}");
    }
    let once: Vec<String> = names.iter().step_by(3).cloned().collect();
    let (code, said, _) = trial(folder.path(), &[], &once);
    assert_eq!(code, 3);
    let words = "each operator must test each module at least twice";
    assert!(unbroken(&said).contains(words), "{said}");
}

/// A text before its lines were broken to the width of a terminal.
fn unbroken(text: &str) -> String {
    text.replace("\n  ", " ")
}

#[test]
fn bad_input_is_one_sentence() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut names = study(folder.path(), &OPERATORS, &QUIET);
    let refused = |arguments: &[&str], reports: &[String], words: &str| {
        let (code, said, told) = trial(folder.path(), arguments, reports);
        assert_eq!((code, said.as_str()), (2, ""), "{told}");
        let told = unbroken(&told);
        assert!(told.contains(words) && told.trim_end().lines().count() == 1, "{words}: {told}");
    };
    refused(&["--quantity", "gap"], &names, "no reading of gap is in all of these reports");
    let twice = [names[0].clone(), names[0].clone()];
    refused(&[], &twice, "are the same run: give each report once");
    fs::write(folder.path().join("other.csv"), "a,b\n1,2\n").expect("written");
    refused(&[], &["other.csv".into()], "other.csv is not a whole record of a run");
    refused(&[], &["none.csv".into()], "none.csv");
    let unlike = Facts { kind: Some("jetty-two".into()), ..facts(3, "mira", 98, true) };
    let with = [IDLE; 1].map(|value| reading(Quantity::IdleCurrent, Some(value), 0.04));
    let mixed = [names[0].clone(), write(folder.path(), &unlike, &with)];
    refused(&[], &mixed, "P4-3-mira-98.csv differ in kind (pier-four and jetty-two): ");
    let real = facts(3, "mira", 99, false);
    names.push(write(folder.path(), &real, &[reading(Quantity::IdleCurrent, Some(0.03), 0.04)]));
    refused(&[], &names, "is simulated and P4-3-mira-99.csv is not");
    let (code, ..) = trial(folder.path(), &[], &[]);
    assert_eq!(code, 2);
}
