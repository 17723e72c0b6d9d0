//! A bench that is served in real time on a pseudo-terminal gives the verdicts of the one in the
//! program's own process.

use std::collections::HashMap;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

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

fn musterbench(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_musterbench"));
    command.current_dir(folder).stdin(Stdio::null()).env("NO_COLOR", "1");
    command
}

/// A bench that is served by a program of its own.
struct Served {
    child: Child,
    path: String,
}

impl Served {
    fn start(folder: &Path, bench: &[&str]) -> Self {
        let mut command = musterbench(folder);
        command.arg("simulate").args(["--module-sheet", KIND]).args(bench);
        let mut child =
            command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().expect("it starts");
        let mut path = String::new();
        let out = child.stdout.take().expect("piped");
        BufReader::new(out).read_line(&mut path).expect("it says where");
        Served { child, path: path.trim().into() }
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // It may be gone already; then there is nothing to end.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

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
                let served = Served::start(folder, bench);
                let over_the_line = test(folder, &format!("served-{at}"), &served.path, &[]);
                assert_eq!(over_the_line, in_process, "{bench:?}");
            });
        }
    });
}
