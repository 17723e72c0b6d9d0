//! A bench that is served in real time on a pseudo-terminal gives the verdicts of the one in the
//! program's own process.

use crate::kit::program::{Served, musterbench};
use std::collections::HashMap;
use std::path::Path;

/// Every kind of step, in about fifteen seconds.
const SCRIPT: &str = include_str!("../kit/every_step.toml");

/// What is on the bench, by the options of both commands, and the exit code that this must end
/// with.
const BENCHES: [(&[&str], i32); 6] = [
    (&["--seed", "2"], 0),
    (&["--seed", "2", "--fault", "moves-at-power-on"], 1),
    (&["--seed", "2", "--fault", "one-group-away"], 1),
    (&["--seed", "2", "--fault", "reservoir-small"], 1),
    (&["--seed", "2", "--fault", "load-supply-low"], 1),
    (&["--seed", "2", "--fault", "common-lead-off"], 1),
];

const KIND: &str = "quay-four";

/// What of a run must be the same: the exit code, and of every reading all but its numbers.
#[derive(Debug, PartialEq, Eq)]
struct Result {
    code: Option<i32>,
    readings: Vec<[String; 6]>,
}

/// Tests a module at a port, with records in a folder of this name.
fn test(folder: &Path, records: &str, port: &str, options: &[&str]) -> Result {
    let mut command = musterbench(folder);
    command.args(["test", "--module", "Q-1", "--script", "every_step.toml", "--unattended"]);
    command.args(["--module-sheet", KIND, "--records", records, "--port", port]).args(options);
    let output = command.output().expect("it starts");
    let report = folder.join(records).join("unsorted/Q-1/run-001.csv");
    let mut reader = csv::Reader::from_path(&report).unwrap_or_else(|e| panic!("{e}: {output:?}"));
    let readings = reader.deserialize().map(|row| {
        let mut row: HashMap<String, String> = row.expect("a row");
        assert_eq!(row["simulated"], "yes");
        ["step", "output", "position", "quantity", "verdict", "blame"]
            .map(|column| row.remove(column).expect("a column"))
    });
    Result { code: output.status.code(), readings: readings.collect() }
}

#[test]
fn a_served_bench_gives_the_verdicts_of_the_one_in_process() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    std::fs::write(folder.join("every_step.toml"), SCRIPT).expect("written");
    std::thread::scope(|scope| {
        for (at, (bench, code)) in BENCHES.into_iter().enumerate() {
            scope.spawn(move || {
                let in_process = test(folder, &format!("in-process-{at}"), "simulated", bench);
                assert_eq!(in_process.code, Some(code), "{bench:?}: {in_process:?}");
                assert!(in_process.readings.len() > 20, "{in_process:?}");
                let served = Served::start(folder, &[&["--module-sheet", KIND], bench].concat());
                let over_the_line = test(folder, &format!("served-{at}"), &served.path, &[]);
                assert_eq!(over_the_line, in_process, "{bench:?}");
            });
        }
    });
}
