//! The commands beside `test`.

#[cfg(unix)]
use crate::kit::program::{Served, signal};
use crate::kit::program::{complaint, musterbench, said};
#[cfg(unix)]
use rustix::process::Signal;
#[cfg(unix)]
use std::fs;

#[test]
fn help_and_usage() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = |arguments: &[&str]| {
        musterbench(folder.path()).args(arguments).output().expect("it starts")
    };
    let help = run(&["--help"]);
    assert_eq!(help.status.code(), Some(0));
    assert!(said(&help).contains("never mains"));
    for wrong in [&["--no-such"][..], &[], &["test"], &["script"], &["testing"]] {
        assert_eq!(complaint(&run(wrong)).0, 2, "{wrong:?}");
    }
}

#[test]
fn faults_are_a_line_each_name_first() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = musterbench(folder.path()).arg("faults").output().expect("it starts");
    let text = said(&output);
    let names: Vec<&str> = text.lines().filter_map(|line| line.split(' ').next()).collect();
    assert!(names.len() >= 20, "{text}");
    for fault in musterbench::simulated_bench::faults::catalogue() {
        assert!(names.contains(&fault.name), "{}", fault.name);
    }
}

#[test]
fn a_reader_that_leaves_is_no_panic() {
    let folder = tempfile::tempdir().expect("a folder");
    for command in ["faults", "--help", "script check arrival"] {
        let mut child = musterbench(folder.path());
        let child = child.args(command.split(' '));
        let child = child.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped());
        let mut child = child.spawn().expect("it starts");
        drop(child.stdout.take());
        let (code, text) = complaint(&child.wait_with_output().expect("it ends"));
        assert_eq!((code, text.as_str()), (0, ""), "{command}");
    }
}

#[cfg(unix)]
#[test]
fn a_full_disk_under_the_output_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("/dev/full");
    let output = musterbench(folder.path()).arg("faults").stdout(full).output();
    let (code, text) = complaint(&output.expect("it starts"));
    assert_eq!(code, 4, "{text}");
    assert!(text.contains("cannot write the output"), "{text}");
}

#[test]
fn script_check_tells_what_a_script_does_and_how_long_it_takes() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = musterbench(folder.path()).args(["script", "check", "arrival"]).output();
    let output = output.expect("it starts");
    assert_eq!(complaint(&output).0, 0);
    let text = said(&output);
    assert!(text.contains("by the jig's clock") && text.contains("feed on"), "{text}");
}

#[test]
fn recover_without_records_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = musterbench(folder.path()).arg("recover").output().expect("it starts");
    let (code, text) = complaint(&output);
    assert_eq!(code, 2);
    assert!(text.contains("--records"), "{text}");
}

#[cfg(unix)]
#[test]
fn simulate_leaves_a_link_while_it_lives_and_spares_other_files() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path().join("jig");
    for _ in 0..2 {
        let bench = Served::start(folder.path(), &["--path-at", "jig"]);
        assert_eq!(bench.path, "jig");
        assert!(fs::read_link(&at).expect("a link").exists());
        // Killed, so the link stays; the next bench takes it over.
        drop(bench);
        assert!(at.is_symlink());
    }

    fs::write(folder.path().join("mine"), "kept").expect("written");
    let output = musterbench(folder.path()).args(["simulate", "--path-at", "mine"]).output();
    assert_eq!(complaint(&output.expect("it starts")).0, 2);
    assert_eq!(fs::read(folder.path().join("mine")).expect("there"), b"kept");
}

#[cfg(unix)]
#[test]
fn a_bench_that_is_ended_takes_its_link_along() {
    let folder = tempfile::tempdir().expect("a folder");
    for number in [Signal::INT, Signal::TERM] {
        let mut bench = Served::start(folder.path(), &["--path-at", "jig"]);
        signal(bench.id(), number);
        assert_eq!(bench.wait().code(), Some(0));
        assert!(!folder.path().join("jig").is_symlink());
    }
}
