//! Runs a netlist and reads what came out.

use super::trace::Trace;
use std::collections::HashMap;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The folder of the netlists.
fn netlists() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/circuits")
}

/// The netlist with these numbers in place of its own. Every one of them must stand in it.
fn with(netlist: &str, numbers: &[(&str, f64)]) -> String {
    let mut found = vec![false; numbers.len()];
    let lines: Vec<String> = netlist
        .lines()
        .map(|line| {
            let Some(list) = line.strip_prefix(".param ") else { return line.to_owned() };
            let words = list.split_whitespace().map(|word| {
                let name = word.split('=').next().unwrap_or(word);
                match numbers.iter().position(|n| n.0 == name) {
                    Some(at) => {
                        found[at] = true;
                        format!("{name}={:e}", numbers[at].1)
                    }
                    None => word.to_owned(),
                }
            });
            format!(".param {}", words.collect::<Vec<_>>().join(" "))
        })
        .collect();
    for (is_found, (name, _)) in found.iter().zip(numbers) {
        assert!(is_found, "the netlist has no number `{name}`");
    }
    lines.join("\n") + "\n"
}

/// Runs a netlist of `tests/circuits`; what it saves, by its name there.
pub fn run(name: &str, numbers: &[(&str, f64)]) -> HashMap<String, Trace> {
    let netlist = std::fs::read_to_string(netlists().join(name)).expect("the netlist");
    let folder = tempfile::tempdir().expect("a folder");
    let (circuit, raw) = (folder.path().join("circuit.cir"), folder.path().join("out.raw"));
    std::fs::write(&circuit, with(&netlist, numbers)).expect("written");
    let output = Command::new("ngspice")
        .args(["-b", "-r"])
        .args([&raw, &circuit])
        .current_dir(netlists())
        .env("SPICE_ASCIIRAWFILE", "1")
        .output()
        .unwrap_or_else(|e| panic!("{}", why_not(&e)));
    let said = String::from_utf8_lossy(&output.stderr);
    let Ok(text) = std::fs::read_to_string(&raw) else { panic!("{name}: {said}") };
    assert!(output.status.success(), "{name}: {said}");
    parse(&text)
}

/// Why the simulator cannot be started, and what to do.
fn why_not(error: &std::io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "ngspice is not installed (Debian: apt-get install ngspice)".into(),
        _ => format!("ngspice cannot be started: {error}"),
    }
}

/// The last plot of an ASCII raw file.
fn parse(text: &str) -> HashMap<String, Trace> {
    let (_, plot) = text.rsplit_once("Variables:\n").expect("variables");
    let (variables, values) = plot.split_once("Values:\n").expect("values");
    let names: Vec<String> = variables
        .lines()
        .map(|line| line.split_whitespace().nth(1).expect("a name").to_owned())
        .collect();
    let mut columns = vec![Vec::new(); names.len()];
    let mut words = values.split_whitespace();
    while words.next().is_some() {
        for column in &mut columns {
            column.push(words.next().expect("a value").parse::<f64>().expect("a number"));
        }
    }
    let times = columns.remove(0);
    let traces = columns.into_iter().map(|values| Trace { times: times.clone(), values });
    names.into_iter().skip(1).zip(traces).collect()
}
