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

fn decided(folder: &Path, arguments: &[&str]) -> String {
    done(folder, &[arguments, &BY].concat())
}

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
    decided(folder, &strike);
    assert_eq!(fates(folder), ["accepted", "to repeat", "waiting"]);
    assert!(refused(folder, &[&strike[..], &BY].concat()).contains("does not count already"));
    tried(folder, "pier-02", None);
    assert_eq!(fates(folder), ["accepted", "on hold", "waiting"]);
    let said = decided(folder, &["reject", "pier-02", "--reason", "now and then"]);
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
    decided(folder, &["where", "pier-03", "built-in", "--at", "the lock"]);
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

/// Two are drawn before the first is seated, and the lot is not closed before they have passed.
#[test]
fn a_sample_is_drawn_proved_and_asked_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let open = ["open", "spring", "--count", "3", "--serial", "pier-{}", "--sample", "2"];
    let told = done(folder, &[&open[..], &["--seed", "412", "--by", "Ines"]].concat());
    assert!(told.contains("Sample, to pass thorough: not yet by pier-"), "{told}");
    let json = |text: &str| serde_json::from_str::<serde_json::Value>(text).expect("JSON");
    let shown = || json(&done(folder, &["show", "spring", "--json"]));
    let drawn = shown()["sample"]["serials"].clone();
    let drawn: Vec<&str> =
        drawn.as_array().expect("a list").iter().filter_map(|s| s.as_str()).collect();
    assert_eq!(drawn.len(), 2);
    let kept = fs::read_to_string(folder.join("records/spring/decisions.jsonl")).expect("there");
    assert!(kept.contains("\"what\":\"sample\"") && kept.contains("\"seed\":412"), "{kept}");
    // Fewer by hand changes nothing any more.
    let path = folder.join("records/spring/lot.toml");
    let text = fs::read_to_string(&path).expect("there");
    fs::write(&path, text.replace("{ count = 2", "{ count = 1")).expect("written");
    assert_eq!(shown()["sample"]["serials"].as_array().map(Vec::len), Some(2));
    fs::write(&path, &text).expect("written");

    for serial in ["pier-01", "pier-02", "pier-03"] {
        tried(folder, serial, None);
    }
    assert_eq!(fates(folder), ["accepted", "accepted", "accepted"]);
    let close = [&["close", "spring", "--reason", "all told"][..], &BY].concat();
    let why = refused(folder, &close);
    assert!(
        why.contains(&format!("{} and {} have not passed thorough", drawn[0], drawn[1])),
        "{why}"
    );
    let thorough = |serial: &str| {
        let test = [
            "test",
            "--port",
            "simulated",
            "--unattended",
            "--lot",
            "spring",
            "--script",
            "thorough",
        ];
        let output =
            musterbench(folder).args(test).args(["--module", serial]).output().expect("it starts");
        assert_eq!(complaint(&output).0, 0, "{}", said(&output));
    };
    thorough(drawn[0]);
    let why = refused(folder, &close);
    assert!(why.contains(&format!("{} has not passed thorough yet", drawn[1])), "{why}");
    assert_eq!(shown()["sample"]["left"], serde_json::json!([drawn[1]]));
    thorough(drawn[1]);
    assert!(
        done(folder, &["show", "spring"]).contains("Sample, to pass thorough: passed by pier-")
    );
    done(folder, &close);
}

/// What contradicts itself is on hold until the thorough test, five times over, passes whole.
#[test]
fn hold_ends_by_the_settling_script_for_every_kind() {
    for kind in ["pier-four", "quay-four", "jetty-two"] {
        let folder = tempfile::tempdir().expect("a folder");
        let folder = folder.path();
        done(folder, &["open", "spring", "--kind", kind, "--count", "1", "--serial", "pier-{}"]);
        let test = |more: &[&str]| {
            let test = [
                "test",
                "--port",
                "simulated",
                "--unattended",
                "--lot",
                "spring",
                "--module",
                "pier-01",
            ];
            let output =
                musterbench(folder).args(test).args(["--module-sheet", kind]).args(more).output();
            complaint(&output.expect("it starts")).0
        };
        let other = if kind == "pier-four" { "quay-four" } else { "pier-four" };
        let test_as = [
            "test",
            "--port",
            "simulated",
            "--unattended",
            "--lot",
            "spring",
            "--module",
            "pier-01",
        ];
        let output = musterbench(folder).args(test_as).args(["--module-sheet", other]).output();
        let (code, why) = complaint(&output.expect("it starts"));
        assert!(code == 2 && why.contains(&format!("the lot spring is of {kind}")), "{why}");
        assert_eq!(test(&["--fault", "output-stuck"]), 1);
        assert_eq!(test(&[]), 0);
        assert_eq!(fates(folder), ["on hold"]);
        // Neither the short script nor the thorough one alone.
        assert_eq!(test(&["--script", "thorough"]), 0);
        assert_eq!(fates(folder), ["on hold"]);
        assert_eq!(test(&["--script", "settle"]), 0);
        assert_eq!(fates(folder), ["accepted"], "{kind}");
        let history = done(folder, &["history", "pier-01"]);
        assert!(history.contains("run 4 (settle) passes whole"), "{history}");
    }
}

#[test]
fn a_history_tells_tries_decisions_and_places() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    done(folder, &["open", "spring", "--count", "2", "--serial", "pier-{}"]);
    tried(folder, "pier-01", Some("output-stuck"));
    decided(folder, &["strike", "pier-01", "--reason", "sat askew"]);
    tried(folder, "pier-01", None);
    decided(folder, &["note", "pier-01", "--reason", "a scratch"]);
    decided(folder, &["where", "pier-01", "lent", "--at", "the club at the canal"]);
    let close = ["close", "spring", "--reason", "all told", "--unfinished"];
    decided(folder, &close);
    tried(folder, "pier-01", None);
    let text = done(folder, &["history", "PIER-01"]);
    // Decisions carry the time of day.
    let has_time =
        |line: &str| line.len() > 16 && line.as_bytes()[4] == b'-' && line.starts_with("20");
    let text: Vec<String> =
        text.lines()
            .map(|line| {
                if has_time(line) {
                    format!("YYYY-MM-DD HH:MM{}", &line[16..])
                } else {
                    line.into()
                }
            })
            .collect();
    insta::assert_snapshot!("history", text.join("\n"));
    let told: serde_json::Value =
        serde_json::from_str(&done(folder, &["history", "pier-01", "--json"])).expect("JSON");
    let tries = told["tries"].as_array().expect("a list");
    let counts: Vec<_> = tries.iter().map(|one| (&one["counts"], &one["after_closing"])).collect();
    let (yes, no) = (&serde_json::json!(true), &serde_json::json!(false));
    assert_eq!(counts, [(no, no), (yes, no), (yes, yes)]);
    assert_eq!(told["decisions"].as_array().map(Vec::len), Some(4));
    let never = done(folder, &["history", "pier-02"]);
    assert!(never.contains("not tested yet"), "{never}");
}

/// A lot that came in two parcels, with all that can be said of it, corrected by hand.
#[test]
fn what_is_said_of_a_lot_is_read_again_and_wrong_lines_are_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    fs::write(folder.join("serials.txt"), "north mole\nsouth mole\nnorth mole\n").expect("written");
    let open =
        ["open", "spring", "--count", "3", "--from", "the lee shore shop", "--order", "2026/117"];
    let more = ["--ordered", "2026-03-02", "--return-by", "2026-04-01", "--marks", "a blue dot"];
    let parcels = ["--parcel", "2026-03-09=2", "--sample-serial", "south mole"];
    let open = [&open[..], &more, &parcels].concat();
    let with_list = [&open[..], &["--serials", "serials.txt"]].concat();
    assert!(refused(folder, &with_list).contains("the serial north mole is there twice"));
    assert!(
        refused(folder, &[&open[..], &["--serials", "none.txt"]].concat()).contains("none.txt")
    );
    let too_many = ["--parcel", "2026-03-09=2", "--parcel", "2026-03-12=5"];
    let why = refused(folder, &[&["open", "spring", "--count", "3"][..], &too_many].concat());
    assert!(why.contains("7 modules have come, and 3 were ordered"), "{why}");
    fs::write(folder.join("serials.txt"), "north mole\nsouth mole\neast mole\n").expect("written");
    done(folder, &with_list);
    let text = done(folder, &["show", "spring"]);
    for told in [
        "the lee shore shop",
        "2026/117",
        "a blue dot",
        "2026-03-02",
        "2026-04-01",
        "2 of 3 have come",
    ] {
        assert!(text.contains(told), "{told} is not in: {text}");
    }
    let path = folder.join("records/spring/lot.toml");
    let text = fs::read_to_string(&path).expect("there");
    fs::write(&path, text.clone() + "\n[[parcel]]\ncame = \"2026-03-12\"\ncount = 1\n")
        .expect("written");
    assert!(!done(folder, &["show", "spring"]).contains("have come"));
    let line_of =
        |words: &str| 1 + text.lines().position(|line| line.contains(words)).expect("there");
    for (old, new, told) in [
        ("count = 2", "count = 4", "4 modules have come"),
        ("count = 3", "count = 0", "`count` is a whole number from 1"),
        ("\"2026-04-01\"", "\"1 April\"", "`return_by` is a date such as"),
        ("\"2026-04-01\"", "\"2026-02-01\"", "before it was ordered"),
        ("\"south mole\", ", "\"North Mole\", ", "is there twice"),
        ("[\"south mole\"]", "[\"west mole\"]", "the lot has no module west mole"),
        ("serials = [\"south mole\"]", "count = 4", "the lot has 3 modules only"),
        ("serials = [\"south mole\"]", "cuont = 4", "a sample says how many"),
        ("kind = \"pier-four\"", "kind = \"peer-four\"", "peer-four"),
        ("script = \"muster\"", "script = \"mustr\"", "mustr"),
        ("settling_script = \"settle\"", "settling_script = \"sett\"", "sett"),
    ] {
        let old_line = if old.starts_with("\"south") { "south mole\"," } else { old };
        let changed = if old.starts_with("\"south") {
            text.replacen("  \"south mole\",", "  \"North Mole\",", 1)
        } else {
            text.replacen(old, new, 1)
        };
        assert_ne!(changed, text, "{old}");
        fs::write(&path, changed).expect("written");
        let why = refused(folder, &["show", "spring"]);
        assert!(why.contains(told), "{told} is not in: {why}");
        let at = format!(
            "lot.toml:{}:",
            if old.starts_with("\"south") { line_of("serials = [") } else { line_of(old_line) }
        );
        assert!(why.contains(&at), "{at} is not in: {why}");
    }
}
