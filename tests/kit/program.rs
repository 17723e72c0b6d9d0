//! The built program, and benches that it serves.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

/// Names a program that is tested in place of the one that was built beside the tests, such as `tests/wine/musterbench`.
const OTHER: &str = "MUSTERBENCH_PROGRAM";

/// The program that is tested.
pub fn program() -> PathBuf {
    let other = std::env::var_os(OTHER).map(PathBuf::from);
    let other = other.map(|path| path.canonicalize().expect("MUSTERBENCH_PROGRAM is there"));
    other.unwrap_or_else(|| env!("CARGO_BIN_EXE_musterbench").into())
}

/// Whether that is a program of another system.
pub fn is_foreign() -> bool {
    std::env::var_os(OTHER).is_some()
}

/// The program, in a folder of its own, without a terminal.
pub fn musterbench(folder: &Path) -> Command {
    let mut command = Command::new(program());
    command.current_dir(folder).stdin(Stdio::null()).env("NO_COLOR", "1");
    command
}

/// `musterbench test --module P4-1` with these arguments besides.
pub fn test(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = musterbench(folder);
    command.args(["test", "--module", "P4-1"]).args(arguments).output().expect("it starts")
}

/// A short simulated run of `P4-1` that passes.
pub fn simulated_run(folder: &Path) {
    let script = short_script(folder);
    let output = test(folder, &["--port", "simulated", "--unattended", "--script", &script]);
    assert_eq!(output.status.code(), Some(0), "{}", complaint(&output).1);
}

/// What it printed.
pub fn said(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("text")
}

/// What it says to these arguments, where it has nothing to complain of.
pub fn done(folder: &Path, arguments: &[&str]) -> String {
    let output = musterbench(folder).args(arguments).output().expect("it starts");
    assert_eq!(complaint(&output), (0, String::new()), "{arguments:?}");
    said(&output)
}

/// Why it refuses these arguments, with exit code 2 and not a word besides.
pub fn refused(folder: &Path, arguments: &[&str]) -> String {
    let output = musterbench(folder).args(arguments).output().expect("it starts");
    let (code, text) = complaint(&output);
    assert_eq!((code, said(&output).as_str()), (2, ""), "{arguments:?}: {text}");
    text
}

/// Its exit code, and what it printed as an error. No panic, whatever else happens.
pub fn complaint(output: &Output) -> (i32, String) {
    let text = String::from_utf8(output.stderr.clone()).expect("text");
    assert!(!text.contains("panicked"), "{text}");
    assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    (output.status.code().expect("not killed"), whole_lines(&text))
}

/// What was broken to fit the terminal, in whole lines again: what goes on is set in. The line of a
/// file that is shown with a mark under it stays as it is.
pub fn whole_lines(text: &str) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    let is_mark = |line: &&str| !line.is_empty() && line.trim().chars().all(|c| c == '^');
    let shown = if lines.last().is_some_and(is_mark) {
        lines.split_off(lines.len() - 2)
    } else {
        Vec::new()
    };
    if text.is_empty() {
        return String::new();
    }
    let mut whole = String::new();
    for line in lines {
        match line.strip_prefix("  ") {
            Some(more) if !whole.is_empty() => {
                // What had no space to be broken at was broken anywhere.
                whole.push(' ');
                whole.push_str(more.trim_start());
            }
            _ => {
                if !whole.is_empty() {
                    whole.push('\n');
                }
                whole.push_str(line);
            }
        }
    }
    whole.push('\n');
    for line in shown {
        whole.push_str(line);
        whole.push('\n');
    }
    whole
}

/// One clear sentence: the program's name in front, and all of it on one line. An error in a file
/// also shows the line of the file and marks the place.
pub fn assert_one_sentence(text: &str) {
    let lines: Vec<&str> = text.lines().collect();
    assert!(text.starts_with("musterbench: "), "{text}");
    assert!(lines.len() == 1 || (lines.len() == 3 && lines[2].contains('^')), "{text}");
    assert!(lines[0].len() > 25, "{text}");
}

/// A report or `lot.csv`: its rows by the names of the columns.
pub fn rows(path: &Path) -> Vec<std::collections::HashMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).expect("a CSV file");
    reader.deserialize().map(|row| row.expect("a row")).collect()
}

/// Where the report of a run of `P4-1` is.
pub fn report(folder: &Path, run: u32) -> PathBuf {
    folder.join(format!("records/unsorted/P4-1/run-{run:03}.csv"))
}

/// The facts file of a run of `P4-1`.
pub fn facts(folder: &Path, run: u32) -> serde_json::Value {
    let path = report(folder, run).with_extension("facts.json");
    serde_json::from_slice(&std::fs::read(path).expect("a facts file")).expect("JSON")
}

/// A script of a few seconds, for runs in real time; its name in the folder.
pub fn short_script(folder: &Path) -> String {
    std::fs::write(folder.join("short.toml"), include_str!("short.toml")).expect("written");
    "short.toml".into()
}

/// A short run of a module whose reservoir is small, and what simulated runs say of it.
pub fn diagnosed(folder: &Path, arguments: &[&str]) -> Output {
    let run = ["--port", "simulated", "--unattended", "--script", "short.toml"];
    let asked = ["--fault", "reservoir-small=0.7", "--diagnosis", "runs"];
    test(folder, &[&run[..], &asked, arguments].concat())
}

/// A simulated bench that is served in real time by a program of its own.
pub struct Served {
    child: Child,
    /// The device.
    pub path: String,
}

impl Served {
    /// Starts one, on a pseudo-terminal where there are any, else behind a socket.
    pub fn start(folder: &Path, arguments: &[&str]) -> Self {
        let mut command = musterbench(folder);
        command.arg("simulate").args(arguments);
        if (is_foreign() || !cfg!(target_os = "linux")) && !arguments.contains(&"--listen") {
            command.args(["--listen", "127.0.0.1:0"]);
        }
        command.stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().expect("it starts");
        let mut path = String::new();
        let out = child.stdout.take().expect("piped");
        BufReader::new(out).read_line(&mut path).expect("it says where");
        Served { child, path: path.trim().into() }
    }

    /// Waits for its end.
    pub fn wait(&mut self) -> std::process::ExitStatus {
        self.child.wait().expect("it ends")
    }

    /// Kills it, as a power cut would: it can do nothing about it.
    pub fn kill(&mut self) {
        self.child.kill().expect("it is there");
        self.child.wait().expect("it ends");
    }

    /// The process, to be killed or stopped.
    pub fn id(&self) -> u32 {
        self.child.id()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Sends a signal to a process that we started.
#[cfg(unix)]
pub fn signal(id: u32, signal: rustix::process::Signal) {
    let id = rustix::process::Pid::from_raw(id as i32).expect("a process");
    rustix::process::kill_process(id, signal).expect("it is there");
}
