//! Whole-program tests of the address plan and the labels.

use crate::kit::program::{musterbench, whole_lines};
use std::fs;
use std::path::Path;
use std::process::Output;

/// The program in a folder of its own; its exit code, what it printed, and what it complained of.
fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = musterbench(folder).args(arguments).output().expect("it starts");
    let Output { status, stdout, stderr } = output;
    let text = |bytes| String::from_utf8(bytes).expect("text");
    let (said, complaint) = (text(stdout), text(stderr));
    assert!(!complaint.contains("panicked"), "{complaint}");
    (status.code().expect("not killed"), said, whole_lines(&complaint))
}

fn done(folder: &Path, arguments: &[&str]) -> String {
    let (code, said, complaint) = run(folder, arguments);
    assert_eq!((code, complaint.as_str()), (0, ""), "{arguments:?}");
    said
}

/// Expects exit code 2, a sentence that holds all of `words`, and nothing printed.
fn refused(folder: &Path, arguments: &[&str], words: &[&str]) {
    let (code, said, complaint) = run(folder, arguments);
    assert_eq!((code, said.as_str()), (2, ""), "{arguments:?}: {complaint}");
    for word in words {
        assert!(complaint.contains(word), "{word:?} is not in: {complaint}");
    }
}

fn plan_of(folder: &Path) -> String {
    fs::read_to_string(folder.join("layout.toml")).expect("a plan")
}

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).expect("JSON")
}

#[test]
fn modules_are_added_listed_and_checked() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let said = done(
        folder,
        &[
            "layout",
            "add",
            "lighthouse",
            "--first",
            "181",
            "--output",
            "1=lantern",
            "--note",
            "x=\"y\"",
        ],
    );
    assert!(said.contains("dcc 181 to 184") && said.contains("3, 4 and 8 on"), "{said}");
    let added = json(&done(folder, &["layout", "add", "crane yard", "--json"]));
    assert_eq!(added["addresses"], serde_json::json!([1, 2, 3, 4]));
    assert_eq!(added["switches"], "01000000000");
    assert_eq!(added["numbering"], "rcn-213");
    let listed = json(&done(folder, &["layout", "list", "--json"]));
    assert_eq!(listed[0]["outputs"], serde_json::json!(["lantern", null, null, null]));
    assert_eq!(listed[0]["note"], "x=\"y\"");
    assert_eq!(listed[1], added);
    assert!(done(folder, &["layout", "list"]).contains("crane yard"));
    assert!(done(folder, &["layout", "check"]).contains("nothing is wrong"));
    assert_eq!(done(folder, &["layout", "check", "--json"]), "[]\n");
    assert!(done(folder, &["layout", "next"]).contains("dcc 5 to 8"));
    let next = done(folder, &["layout", "next", "--module-sheet", "jetty-two", "--json"]);
    assert_eq!(json(&next)["addresses"], serde_json::json!([1, 2]));
}

#[test]
fn what_people_wrote_stays_as_it_is() {
    for end in ["\n", "\r\n", ""] {
        let folder = tempfile::tempdir().expect("a folder");
        let text = format!(
            "# ours{e}[[module]]{e}address = 9 # odd order{e}  name='mole'{e}\
             module_sheet = \"quay-four\"{end}",
            e = if end.is_empty() { "\n" } else { end },
        );
        fs::write(folder.path().join("layout.toml"), &text).expect("written");
        done(folder.path(), &["layout", "add", "lighthouse"]);
        let now = plan_of(folder.path());
        assert!(now.starts_with(&text), "{now}");
        assert_eq!(now.contains("\r\n"), end == "\r\n", "{now:?}");
        assert!(end != "\r\n" || now.matches('\n').count() == now.matches("\r\n").count());
        assert_eq!(json(&done(folder.path(), &["layout", "list", "--json"]))[0]["name"], "mole");
        let files: Vec<_> = fs::read_dir(folder.path()).expect("read").collect();
        assert_eq!(files.len(), 1, "nothing is left beside it");
    }
}

#[test]
fn what_the_plan_does_not_allow() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    done(folder, &["layout", "add", "lighthouse", "--first", "181"]);
    let before = plan_of(folder);
    let add = |more: &[&str], words: &[&str]| {
        refused(folder, &[&["layout", "add"], more].concat(), words);
    };
    add(&["dock", "--first", "181"], &["\"dock\"", "\"lighthouse\"", "181 to 184", "--first 185"]);
    add(
        &["dock", "--first", "185", "--numbering", "from-group-zero"],
        &["185 to 188", "181 to 184", "\"lighthouse\"", "--first 189"],
    );
    add(&["dock", "--first", "182"], &["cannot be set", "181 and 185"]);
    add(&["dock", "--first", "0"], &["1 to 2040"]);
    add(&["dock", "--first", "2041"], &["broadcast"]);
    add(&["dock", "--first", "2045"], &["1 to 2040"]);
    add(&["dock", "--format", "trinary", "--first", "321"], &["1 to 320"]);
    add(&["dock", "--first", "-1"], &["1 to 2040"]);
    add(&["dock", "--first", "seventy"], &["'seventy'", "whole number"]);
    add(&["dock", "--first", "99999"], &["1 to 2040"]);
    add(&["dock", "--first", "99999999999999999999"], &["so many digits"]);
    add(&["dock", "--format", "trinary", "--numbering", "rcn-213"], &["numbering is for dcc"]);
    add(&["dock", "--format", "morse"], &["dcc or trinary"]);
    add(&["dock", "--module-sheet", "quay-four", "--format", "trinary"], &["understand trinary"]);
    add(&["dock", "--module-sheet", "no-such"], &["no-such", "pier-four"]);
    add(&["LightHouse"], &["already", "line 5"]);
    add(&["../dock"], &["../dock"]);
    add(&[""], &["empty"]);
    add(&["dock", "--output", "5=bell"], &["no output 5", "1 to 4"]);
    add(&["dock", "--output", "1=a", "--output", "1=b"], &["two names"]);
    add(&["dock", "--output", "bell"], &["1=lantern"]);
    add(&["dock", "--output", "1= "], &["name of an output"]);
    add(&["dock", "--note", "a\nb"], &["the note"]);
    add(&["dock", "--layout", "no/such/layout.toml"], &["no folder no/such"]);
    assert_eq!(plan_of(folder), before);
}

#[test]
fn module_sheets_are_found_from_the_folder_of_the_plan() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let sheet =
        fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/modules/quay-four.toml"));
    fs::create_dir(folder.join("plans")).expect("made");
    let ours = sheet.expect("read").replace("kind = \"quay-four\"", "kind = \"ferry-four\"");
    fs::write(folder.join("plans/ferry.toml"), ours).expect("written");
    let plan = ["--layout", "plans/harbour.toml"];
    let add = ["layout", "add", "ferry", "--module-sheet", "plans/ferry.toml"];
    done(folder, &[&add[..], &plan].concat());
    let text = fs::read_to_string(folder.join("plans/harbour.toml")).expect("read");
    assert!(text.contains("module_sheet = \"ferry.toml\""), "{text}");
    for (at, plan) in [("", "plans/harbour.toml"), ("plans", "harbour.toml")] {
        let list = done(&folder.join(at), &["layout", "list", "--layout", plan]);
        assert!(list.contains("ferry-four"), "{list}");
    }
    // A sheet that has gone is told where the plan names it.
    fs::remove_file(folder.join("plans/ferry.toml")).expect("removed");
    let list = [&["layout", "list"], &plan[..]].concat();
    refused(folder, &list, &["plans/harbour.toml:6:16", "plans/ferry.toml", "no such file"]);
}

#[test]
fn bad_plans_get_a_sentence_with_file_and_line() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let file = folder.join("layout.toml");
    let block = "[[module]]\nname = \"mole\"\nmodule_sheet = \"quay-four\"\naddress = 9\n";
    let wrong = |bytes: &[u8]| {
        fs::write(&file, bytes).expect("written");
        let (code, said, complaint) = run(folder, &["layout", "check"]);
        assert_eq!((code, said.as_str()), (2, ""));
        refused(folder, &["layout", "add", "lock", "--first", "101"], &["layout.toml"]);
        refused(folder, &["label", "mole"], &["layout.toml"]);
        assert_eq!(fs::read(&file).expect("read"), bytes, "it is left alone");
        complaint
    };
    let text = |old: &str, new: &str| {
        assert!(block.contains(old));
        wrong(block.replace(old, new).as_bytes())
    };
    let told = [
        text("address = 9", "adress = 9"),
        text("address = 9", "address = \"nine\""),
        text("address = 9", "address = -1"),
        text("address = 9", "address = 9\nformat = \"DCC\""),
        text("address = 9", "address = 9\nnumbering = 0"),
        text("address = 9", "address = 9\noutputs = [\"lantern\"]"),
        text("address = 9", "address = 9\noutputs = { 5 = \"lantern\" }"),
        text("address = 9", "address = 9\nnote = \"\""),
        text("address = 9", "address = 9\ncolour = \"red\""),
        text("name = \"mole\"", "name = \"../mole\""),
        text("name = \"mole\"", "name = 3"),
        text("name = \"mole\"", ""),
        text("quay-four", "quay-fuor"),
        text("[[module]]", "[module]"),
        text("[[module]]", "[[modul]]"),
        text("name = \"mole\"", "name = \"mo"),
        wrong(&[block.as_bytes(), b"note = \"\xff\"\n"].concat()),
        wrong(&[block.as_bytes(), "note = \"x\u{1b}[2J\"\n".as_bytes()].concat()),
        wrong(&vec![b'#'; (1 << 20) + 1]),
    ];
    insta::assert_snapshot!(told.concat());
}

#[test]
fn everything_that_is_wrong_is_told_at_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let text = "colour = \"red\"\n\
        [[module]]\nname = \"mole\"\nmodule_sheet = \"pier-four\"\naddress = 9\n\
        [[module]]\nname = \"buoy\"\nmodule_sheet = \"quay-four\"\n\
        [[module]]\nname = \"lock\"\nmodule_sheet = \"pier-four\"\naddress = 9\n";
    fs::write(folder.join("layout.toml"), text).expect("written");
    let (code, said, complaint) = run(folder, &["layout", "check"]);
    assert_eq!((code, said.as_str()), (2, ""));
    for place in ["layout.toml:1:1", "layout.toml:6:1", "layout.toml:12:11", "\"mole\" (line 5)"] {
        assert!(complaint.contains(place), "{place} is not in: {complaint}");
    }
    let (code, said, complaint) = run(folder, &["layout", "check", "--json"]);
    assert_eq!((code, complaint.as_str()), (2, ""));
    let wrong = json(&said);
    let lines: Vec<_> = wrong.as_array().expect("a list").iter().map(|w| &w["line"]).collect();
    assert_eq!(lines, [1, 6, 12]);
}

#[test]
fn files_that_are_no_plan() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    for command in
        [&["layout", "list"][..], &["layout", "next"], &["layout", "check"], &["label", "x"]]
    {
        refused(folder, command, &["layout.toml", "layout add"]);
    }
    fs::create_dir(folder.join("layout.toml")).expect("made");
    for command in [&["layout", "list"][..], &["layout", "add", "mole"], &["label", "mole"]] {
        refused(folder, command, &["layout.toml", "not a plain file"]);
    }
    // A list in brackets cannot be added to by a block at the end.
    let text = "module = [{ name = \"mole\", module_sheet = \"quay-four\", address = 9 }]\n";
    fs::write(folder.join("list.toml"), text).expect("written");
    let list = ["--layout", "list.toml"];
    done(folder, &[&["layout", "list"], &list[..]].concat());
    refused(
        folder,
        &[&["layout", "add", "lock"], &list[..]].concat(),
        &["list.toml", "[[module]]"],
    );
    assert_eq!(fs::read_to_string(folder.join("list.toml")).expect("read"), text);
}

#[cfg(unix)]
#[test]
fn a_plan_keeps_its_permissions_and_a_read_only_one_its_text() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let file = folder.join("layout.toml");
    let mode = |mode| fs::set_permissions(&file, fs::Permissions::from_mode(mode)).expect("set");
    done(folder, &["layout", "add", "lighthouse"]);
    mode(0o640);
    symlink("layout.toml", folder.join("link.toml")).expect("linked");
    done(folder, &["layout", "add", "mole", "--layout", "link.toml"]);
    assert!(plan_of(folder).contains("mole"));
    assert!(folder.join("link.toml").is_symlink());
    assert_eq!(fs::metadata(&file).expect("there").permissions().mode() & 0o777, 0o640);
    mode(0o440);
    let before = plan_of(folder);
    refused(folder, &["layout", "add", "lock"], &["layout.toml is read-only"]);
    assert_eq!(plan_of(folder), before);
}

#[test]
fn adding_at_the_same_time_loses_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    std::thread::scope(|scope| {
        for i in 0..8 {
            scope.spawn(move || done(path, &["layout", "add", &format!("berth {i}")]));
        }
    });
    let modules = json(&done(path, &["layout", "list", "--json"]));
    assert_eq!(modules.as_array().expect("a list").len(), 8);
    done(path, &["layout", "check"]);
}

#[test]
fn labels_tell_the_fate_and_whether_it_was_simulated() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    done(folder, &["layout", "add", "lighthouse", "--first", "181"]);
    let fresh = done(folder, &["label", "lighthouse"]);
    assert!(fresh.contains("not tested") && !fresh.contains("PASS"), "{fresh}");
    let test = ["test", "--port", "simulated", "--module", "lighthouse", "--unattended"];
    run(folder, &[&test[..], &["--fault", "contact-burnt"]].concat());
    let said = done(folder, &["label", "lighthouse", "--out", "lighthouse.svg"]);
    assert!(said.contains("84 mm by 48 mm"), "{said}");
    let svg = fs::read_to_string(folder.join("lighthouse.svg")).expect("written");
    let document = roxmltree::Document::parse(&svg).expect("XML");
    let texts: Vec<_> = document.descendants().filter_map(|n| n.text()).map(str::trim).collect();
    for shown in [
        "lighthouse",
        "181 to 184",
        "SIMULATED",
        "TO REPEAT",
        "newest check: fail, module, 2026-01-05, run 1",
        "lighthouse, lot unsorted",
    ] {
        assert!(texts.contains(&shown), "{shown} is not in {texts:?}");
    }
    let label = json(&done(folder, &["label", "lighthouse", "--json"]));
    assert_eq!(label["standing"]["fate"], "to repeat");
    assert_eq!(label["standing"]["last_showed"], "fail, module");
    assert_eq!(label["standing"]["simulated"], true);
    assert_eq!(label["svg"], svg);
    assert_eq!(label["module"]["switches"], "00110001000");

    refused(folder, &["label", "mole"], &["no module \"mole\"", "lighthouse"]);
    let journal = folder.join("records/unsorted/lighthouse/run-002.journal");
    fs::write(&journal, "").expect("written");
    refused(folder, &["label", "lighthouse"], &["run-002.journal", "musterbench recover"]);
    fs::remove_file(&journal).expect("removed");
    fs::write(folder.join("records/unsorted/lighthouse/run-002.csv"), "half").expect("written");
    let (code, said, complaint) = run(folder, &["label", "lighthouse"]);
    assert_eq!((code, said.as_str()), (4, ""), "{complaint}");
    let (code, _, complaint) =
        run(folder, &["label", "lighthouse", "--records", "none", "--out", "."]);
    assert_eq!(code, 2, "{complaint}");
}

#[test]
fn a_module_is_tested_where_the_plan_has_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    done(folder, &["layout", "add", "gates", "--format", "trinary", "--first", "9"]);
    // Counted from group zero there is an address 1861; for its sheet that is 1857.
    let from_zero = ["--numbering", "from-group-zero", "--first", "1861"];
    done(folder, &[&["layout", "add", "lock"], &from_zero[..]].concat());
    fs::write(
        folder.join("set.toml"),
        "title = \"set\"\nsteps = [{ ask = \"prepare\" }, { measure = \"hook-up\" }, { loads = \"jig\" },\n\
         { feed = \"on\" }, { send = \"a\", outputs = 1 }, { feed = \"off\" }]\n",
    )
    .expect("written");
    let test = |name: &str, more: &[&str]| {
        let test = ["test", "--port", "simulated", "--unattended", "--script", "set.toml"];
        let plan = ["--layout", "layout.toml", "--module", name];
        run(folder, &[&test[..], &plan, more].concat())
    };
    for name in ["gates", "lock"] {
        let (code, said, complaint) = test(name, &[]);
        assert_eq!((code, complaint.as_str()), (0, ""), "{said}");
    }
    for more in [["--address", "181"], ["--module-sheet", "pier-four"]] {
        let (code, _, complaint) = test("lock", &more);
        assert!(code == 2 && complaint.contains("cannot be used with"), "{complaint}");
    }
    let (code, _, complaint) = test("mole", &[]);
    assert!(code == 2 && complaint.contains("gates, lock"), "{complaint}");
    let script = fs::read_to_string(folder.join("set.toml")).expect("read");
    fs::write(folder.join("set.toml"), format!("format = \"dcc\"\n{script}")).expect("written");
    let (code, _, complaint) = test("gates", &[]);
    assert!(code == 2 && complaint.contains("set.toml:1:10: the script is for dcc"), "{complaint}");
}
