//! A lot from its order to its closing.

use crate::kit::program::{complaint, musterbench, rows, said};
use std::fs;
use std::path::Path;
use std::process::Output;

fn lot(folder: &Path, arguments: &[&str]) -> Output {
    musterbench(folder).arg("lot").args(arguments).output().expect("it starts")
}

pub fn done(folder: &Path, arguments: &[&str]) -> String {
    let output = lot(folder, arguments);
    assert_eq!(complaint(&output), (0, String::new()), "{arguments:?}");
    said(&output)
}

pub fn refused(folder: &Path, arguments: &[&str]) -> String {
    let (code, text) = complaint(&lot(folder, arguments));
    assert_eq!(code, 2, "{arguments:?}: {text}");
    text
}

pub fn tried(folder: &Path, serial: &str, fault: Option<&str>) {
    let mut arguments = vec!["--port", "simulated", "--unattended", "--lot", "spring"];
    arguments.extend(fault.iter().flat_map(|fault| ["--fault", fault]));
    arguments.extend(["--module", serial]);
    let output = musterbench(folder).arg("test").args(&arguments).output().expect("it starts");
    assert_eq!(complaint(&output).0, i32::from(fault.is_some()), "{}", said(&output));
}

fn fates(folder: &Path) -> Vec<String> {
    done(folder, &["show", "spring"]);
    let rows = rows(&folder.join("records/spring/modules.csv"));
    rows.iter().map(|row| row["fate"].clone()).collect()
}

const BY: [&str; 2] = ["--by", "Ines"];

#[test]
fn a_lot_is_opened_tried_decided_and_closed() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let order = ["open", "spring", "--count", "3", "--serial", "pier-{}", "--from", "lee shore"];
    let more =
        ["--parcel", "2026-03-09=2", "--parcel", "2026-03-12=1", "--return-by", "2026-04-01"];
    done(folder, &[&order[..], &more].concat());
    assert!(refused(folder, &order).contains("is there already"));
    assert_eq!(fates(folder), ["waiting", "waiting", "waiting"]);

    tried(folder, "pier-01", None);
    let stuck = Some("output-stuck");
    tried(folder, "pier-02", stuck);
    assert_eq!(fates(folder), ["accepted", "to repeat", "waiting"]);
    tried(folder, "pier-02", stuck);
    assert_eq!(fates(folder), ["accepted", "rejected", "waiting"]);

    // Struck, it is as if it had never been.
    let strike = ["strike", "pier-02", "--reason", "sat askew"];
    done(folder, &[&strike[..], &BY].concat());
    assert_eq!(fates(folder), ["accepted", "to repeat", "waiting"]);
    assert!(refused(folder, &[&strike[..], &BY].concat()).contains("does not count already"));
    tried(folder, "pier-02", None);
    assert_eq!(fates(folder), ["accepted", "on hold", "waiting"]);
    let said =
        done(folder, &[&["reject", "pier-02", "--reason", "now and then"][..], &BY].concat());
    assert!(said.starts_with("pier-02: rejected; Ines decided: now and then"), "{said}");

    let close = [&["close", "spring", "--reason", "all told"][..], &BY].concat();
    assert!(refused(folder, &close).contains("1 waiting"));
    tried(folder, "pier-03", None);
    done(folder, &close);
    assert!(refused(folder, &close).contains("closed by Ines"));
    let accept = [&["accept", "pier-02", "--reason", "changed my mind"][..], &BY].concat();
    assert!(refused(folder, &accept).contains("was closed"));
    // Later runs are checks.
    tried(folder, "pier-03", stuck);
    tried(folder, "pier-03", stuck);
    assert_eq!(fates(folder), ["accepted", "rejected", "accepted"]);
    done(folder, &[&["where", "pier-03", "built-in", "--at", "the lock"][..], &BY].concat());
    let text = done(folder, &["show", "spring"]);
    assert!(text.contains("SIMULATED") && text.contains("built-in, the"), "{text}");
    let told: serde_json::Value =
        serde_json::from_str(&done(folder, &["show", "spring", "--json"])).expect("JSON");
    assert_eq!((&told["closed"], &told["fates"]["accepted"]), (&true.into(), &2.into()));
    assert_eq!((&told["simulated"], &told["modules"][2]["checks"]), (&true.into(), &2.into()));
    assert!(done(folder, &["list"]).contains("closed"));
}

#[test]
fn what_is_wrong_with_a_lot_is_told_where_it_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    assert!(refused(folder, &["list"]).contains("no folder records"));
    assert!(refused(folder, &["open", "../x", "--count", "3"]).contains("cannot be used"));
    let open = ["open", "spring", "--count", "2"];
    assert!(refused(folder, &[&open[..], &["--serial", "pier"]].concat()).contains("once"));
    assert!(refused(folder, &[&open[..], &["--kind", "peer-four"]].concat()).contains("peer-four"));
    assert!(
        refused(folder, &[&open[..], &["--return-by", "1.4.2026"]].concat()).contains("2026-03-02")
    );
    assert!(!folder.join("records").exists(), "nothing is left of what was refused");

    fs::write(folder.join("serials.txt"), "north mole\r\nsouth mole\n\n").expect("written");
    done(folder, &[&open[..], &["--serials", "serials.txt"]].concat());
    assert!(done(folder, &["show", "spring"]).contains("south mole"));
    assert!(refused(folder, &["show", "autumn"]).contains("no lot autumn"));
    let hold = |serial| [&["hold", serial, "--reason", "x"][..], &BY].concat();
    assert!(refused(folder, &hold("east mole")).contains("no open lot"));
    done(folder, &hold("North Mole"));

    // By hand, and wrong.
    let path = folder.join("records/spring/lot.toml");
    let text = fs::read_to_string(&path).expect("there");
    fs::write(&path, text.replace("count = 2", "count = 3")).expect("written");
    let why = refused(folder, &["show", "spring"]);
    assert!(why.contains("lot.toml") && why.contains("2 serials for 3"), "{why}");
    fs::write(&path, text.replace("script", "skript")).expect("written");
    assert!(refused(folder, &["show", "spring"]).contains("is \"skript\" meant"));
    fs::write(&path, &text).expect("written");

    // A damaged decision is told, and the others stand.
    let decisions = folder.join("records/spring/decisions.jsonl");
    let mut bytes = fs::read(&decisions).expect("there");
    bytes[20] ^= 1;
    fs::write(&decisions, bytes).expect("written");
    let (code, told) = complaint(&lot(folder, &["show", "spring"]));
    assert!(code == 0 && told.contains("line 1: damaged"), "{told}");
}
