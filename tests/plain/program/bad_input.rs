//! Bad input gets one clear sentence and an exit code, never a panic, a hang or a wrong verdict.

#[cfg(unix)]
use crate::kit::pretender::Pretender;
use crate::kit::program::{assert_one_sentence, complaint, musterbench, said, test};
use std::fs;
use std::path::Path;

/// Runs `musterbench test` and expects one sentence that holds all of `words`, and no records.
fn refused(folder: &Path, arguments: &[&str], code: i32, words: &[&str]) {
    let output = test(folder, arguments);
    let (given, text) = complaint(&output);
    assert_eq!(given, code, "{text}");
    assert_one_sentence(&text);
    for word in words {
        assert!(text.contains(word), "{word:?} is not in: {text}");
    }
    assert_eq!(said(&output), "");
}

const SIMULATED: [&str; 3] = ["--port", "simulated", "--unattended"];

fn simulated(folder: &Path, more: &[&str], code: i32, words: &[&str]) {
    refused(folder, &[&SIMULATED, more].concat(), code, words);
    assert!(!folder.join("records").exists(), "nothing may be left behind");
}

#[test]
fn without_a_port_it_says_what_to_give() {
    let folder = tempfile::tempdir().expect("a folder");
    refused(folder.path(), &[], 2, &["--port simulated", "musterbench ports"]);
}

#[test]
fn faults_and_seeds_are_for_the_simulated_bench() {
    let folder = tempfile::tempdir().expect("a folder");
    refused(folder.path(), &["--port", "/dev/null", "--seed", "1"], 2, &["--seed"]);
    refused(folder.path(), &["--port", "/dev/null", "--fault", "lamp-dead"], 2, &["--fault"]);
}

#[test]
fn names_of_operators_that_do_not_fit_a_report() {
    let folder = tempfile::tempdir().expect("a folder");
    let long = "é".repeat(201);
    simulated(folder.path(), &["--operator", &long], 2, &["operator's name", "200 characters"]);
    let bell = "Ines\u{7}";
    simulated(folder.path(), &["--operator", bell], 2, &["operator's name", "control character"]);
}

#[test]
fn devices_that_are_none() {
    let folder = tempfile::tempdir().expect("a folder");
    refused(folder.path(), &["--port", "/dev/ttyNONE7"], 4, &["/dev/ttyNONE7", "no such device"]);
    refused(folder.path(), &["--port", "/dev/null"], 4, &["/dev/null"]);
    refused(folder.path(), &["--port", "."], 4, &[]);
    assert!(!folder.path().join("records").exists());
}

#[cfg(unix)]
#[test]
fn a_device_that_is_no_jig() {
    let folder = tempfile::tempdir().expect("a folder");
    let lighthouse = Pretender::start(|_| b"harbour light \x1b[2Jcontroller 3\r\n".to_vec());
    refused(folder.path(), &["--port", lighthouse.path()], 4, &["no jig", "harbour light"]);
    let echo = Pretender::start(<[u8]>::to_vec);
    refused(folder.path(), &["--port", echo.path()], 4, &["sends back"]);
    assert!(!folder.path().join("records").exists());
}

#[cfg(unix)]
#[test]
fn a_device_that_talks_garbage() {
    let folder = tempfile::tempdir().expect("a folder");
    let noise = Pretender::start(|_| (0..600_u32).map(|i| (i * 73 % 251) as u8 | 0x80).collect());
    refused(folder.path(), &["--port", noise.path()], 4, &["garbage"]);
}

#[cfg(unix)]
#[test]
fn a_jig_of_another_age() {
    let folder = tempfile::tempdir().expect("a folder");
    let old = Pretender::start(|bytes| {
        let text = String::from_utf8_lossy(bytes).to_uppercase();
        if text.contains("PROT") {
            b"0.3\n".to_vec()
        } else if text.contains("*IDN?") {
            b"musterbench,jig,0042,0.3.1\n".to_vec()
        } else {
            Vec::new()
        }
    });
    refused(folder.path(), &["--port", old.path()], 4, &["version 0.3"]);
}

#[test]
fn steps_by_hand_need_someone_to_ask() {
    let folder = tempfile::tempdir().expect("a folder");
    refused(folder.path(), &["--port", "simulated"], 2, &["steps by hand", "--unattended"]);
}

#[test]
fn names_that_are_not_sane() {
    let folder = tempfile::tempdir().expect("a folder");
    for name in ["../escaped", "/etc", "", ".", "a/b", "a\u{1b}[31m", "con", "lot.csv"] {
        let mut command = musterbench(folder.path());
        let output = command.args(["test", "--module", name]).args(SIMULATED).output();
        let (code, text) = complaint(&output.expect("it starts"));
        assert_eq!(code, 2, "{name:?}: {text}");
        assert_one_sentence(&text);
        simulated(folder.path(), &["--lot", name], 2, &["the lot name"]);
    }
    assert_eq!(fs::read_dir(folder.path()).expect("there").count(), 0);
}

#[test]
fn scripts_that_are_wrong_point_at_the_place() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = folder.path().join("mine.toml");
    for (text, words) in [
        ("title = \"x\"\nsteps = [ { fed = \"on\" } ]\n", ["mine.toml:2:", "fed"]),
        ("title = \"x\"\nsteps = [ { wait = 5 } ]\n", ["mine.toml:2:", "wait"]),
        ("title = \"x\"\nsteps = [ { wait = \"5 kg\" } ]\n", ["mine.toml:2:", "kg"]),
        ("title = \"x\"\nsteps = [ { send = \"c\" } ]\n", ["mine.toml:2:", "\"c\""]),
        ("title = \"x\"\nsteps = [ { send = \"a\", outputs = [9] } ]\n", ["mine.toml:2:", "9"]),
        ("title = ", ["mine.toml:1:", "TOML"]),
        ("", ["mine.toml", "no keys"]),
    ] {
        fs::write(&script, text).expect("written");
        simulated(folder.path(), &["--script", "mine.toml"], 2, &words);
    }
    fs::write(&script, b"title = \"\xff\"\n").expect("written");
    simulated(folder.path(), &["--script", "mine.toml"], 2, &["UTF-8"]);
    simulated(folder.path(), &["--script", "none.toml"], 2, &["none.toml", "arrival"]);
    simulated(folder.path(), &["--script", "."], 2, &["not a plain file"]);
}

#[test]
fn sheets_that_are_wrong() {
    let folder = tempfile::tempdir().expect("a folder");
    let sheet = folder.path().join("loads.toml");
    let harbour = include_str!("../../../fixtures/loads/harbour-basin.toml");
    for (right, wrong, words) in [
        ("at = [\"1a\"", "at = [\"5a\"", ["loads.toml:", "5a"]),
        ("kind = \"dc\"", "kind = \"ac\"", ["loads.toml:", "ac"]),
    ] {
        assert!(harbour.contains(right), "{harbour}");
        fs::write(&sheet, harbour.replace(right, wrong)).expect("written");
        simulated(folder.path(), &["--loads", "loads.toml"], 2, &words);
    }
    simulated(folder.path(), &["--module-sheet", "loads.toml"], 2, &["loads.toml"]);
    simulated(folder.path(), &["--script", "in-place"], 2, &["--loads"]);
}

#[test]
fn faults_that_do_not_exist() {
    let folder = tempfile::tempdir().expect("a folder");
    for fault in ["no-such", "lamp-dead=much", "lamp-dead=7", ""] {
        let output = test(folder.path(), &[&SIMULATED[..], &["--fault", fault]].concat());
        assert_eq!(complaint(&output).0, 2);
    }
}

#[test]
fn records_that_cannot_be_written() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("records"), "a file in the way").expect("written");
    refused(folder.path(), &SIMULATED, 2, &["records is no folder", "give another one"]);
}

#[test]
fn a_lot_csv_of_something_else_is_never_touched() {
    let folder = tempfile::tempdir().expect("a folder");
    let lot = folder.path().join("records/unsorted");
    fs::create_dir_all(&lot).expect("made");
    fs::write(lot.join("lot.csv"), "name;price\n").expect("written");
    refused(folder.path(), &SIMULATED, 2, &["lot.csv was not written by this program"]);
    assert_eq!(fs::read(lot.join("lot.csv")).expect("there"), b"name;price\n");
}

#[test]
fn a_samples_folder_that_is_not_empty() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::create_dir(folder.path().join("samples")).expect("made");
    fs::write(folder.path().join("samples/old.csv"), "").expect("written");
    let arguments = [&SIMULATED[..], &["--samples", "samples"]].concat();
    refused(folder.path(), &arguments, 2, &["not empty"]);
}
