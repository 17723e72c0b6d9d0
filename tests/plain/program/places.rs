//! Modules that sit in the places of the layout: their serials, and what the plan and the lots say of them.

use super::lot::{done as lot_done, refused as lot_refused, tried};
use crate::kit::program::{complaint, done, musterbench, refused, rows, whole_lines};
use std::fs;
use std::path::Path;

fn plan_of(folder: &Path) -> String {
    fs::read_to_string(folder.join("layout.toml")).expect("a plan")
}

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).expect("JSON")
}

/// Where each module of the lot is.
fn whereabouts(folder: &Path) -> Vec<String> {
    let rows = rows(&folder.join("records/spring/modules.csv"));
    let place = |row: &std::collections::HashMap<String, String>| match row["place"].as_str() {
        "" => row["whereabouts"].clone(),
        place => format!("{}, {place}", row["whereabouts"]),
    };
    rows.iter().map(place).collect()
}

/// A lot of four, three of them accepted.
fn spring(kind: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let open = ["open", "spring", "--kind", kind, "--count", "4", "--serial", "pier-{}"];
    lot_done(folder.path(), &open);
    for serial in ["pier-01", "pier-02", "pier-03"] {
        let accept = ["accept", serial, "--reason", "seen", "--by", "Ines"];
        lot_done(folder.path(), &accept);
    }
    folder
}

#[test]
fn a_serial_goes_into_the_plan_moves_and_comes_out_again() {
    for kind in ["pier-four", "quay-four", "jetty-two"] {
        let folder = spring(kind);
        let folder = folder.path();
        let told = done(folder, &["layout", "add", "lighthouse", "--serial", "PIER-01"]);
        assert!(told.contains("pier-01 of the lot spring: built-in, lighthouse"), "{told}");
        assert!(told.contains(&format!("lighthouse: {kind} at ")), "{told}");
        let plan = plan_of(folder);
        assert!(plan.contains("serial = \"pier-01\"\nlot = \"spring\"\n"), "{plan}");
        assert_eq!(whereabouts(folder), ["built-in, lighthouse", "", "", ""]);
        assert!(done(folder, &["layout", "check"]).contains("nothing is wrong"));
        let list = done(folder, &["layout", "list"]);
        assert!(list.contains("pier-01,"), "{list}");

        let moved = done(folder, &["layout", "move", "lighthouse", "--first", "217"]);
        assert!(moved.contains(" to ") && moved.contains("power off"), "{moved}");
        let listed = json(&done(folder, &["layout", "list", "--json"]));
        assert_eq!(
            (&listed[0]["addresses"][0], &listed[0]["serial"]),
            (&217.into(), &"pier-01".into())
        );
        let again =
            refused(folder, &["layout", "add", "mole", "--first", "217", "--module-sheet", kind]);
        assert!(again.contains("lighthouse"), "{again}");

        done(folder, &["layout", "rename", "lighthouse", "north light", "--by", "Ines"]);
        assert_eq!(whereabouts(folder)[0], "built-in, north light");
        let told = done(folder, &["layout", "replace", "north light", "--serial", "pier-02"]);
        assert!(told.contains("pier-01 of the lot spring: replaced-by, pier-02"), "{told}");
        assert_eq!(whereabouts(folder), ["replaced-by, pier-02", "built-in, north light", "", ""]);
        assert!(done(folder, &["layout", "check"]).contains("nothing is wrong"));

        let out = ["layout", "retire", "north light", "--to", "broken-here", "--at", "attic"];
        assert!(done(folder, &out).contains("are free"));
        assert_eq!(whereabouts(folder)[1], "broken-here, attic");
        assert_eq!(done(folder, &["layout", "list"]), "The address plan holds no modules.\n");
        done(folder, &["layout", "add", "mole", "--first", "217", "--serial", "pier-03"]);
        let decided =
            fs::read_to_string(folder.join("records/spring/decisions.jsonl")).expect("there");
        assert_eq!(decided.matches("\"what\":\"whereabouts\"").count(), 6, "{decided}");
    }
}

#[test]
fn what_people_wrote_stays_when_a_module_is_altered() {
    for end in ["\n", "\r\n"] {
        let folder = tempfile::tempdir().expect("a folder");
        let folder = folder.path();
        let text = "# ours\n\n[[module]] # first\n  address = 9 # odd order\nname='mole'\nmodule_sheet = \"quay-four\"\n\n\
            # the second\n[[module]]\nname = \"lock\"\nmodule_sheet = \"quay-four\"\naddress = 133\nnote = \"x\" # why\n\
            # the end\n";
        fs::write(folder.join("layout.toml"), text.replace('\n', end)).expect("written");
        done(folder, &["layout", "move", "mole", "--first", "129"]);
        done(folder, &["layout", "rename", "lock", "sluice"]);
        let wanted =
            text.replace("address = 9 #", "address = 129 #").replace("\"lock\"", "\"sluice\"");
        assert_eq!(plan_of(folder), wanted.replace('\n', end));
        done(folder, &["layout", "retire", "mole"]);
        let now = plan_of(folder).replace("\r\n", "\n");
        assert!(
            !now.contains("mole") && now.contains("# the second\n[[module]]\nname = \"sluice\""),
            "{now}"
        );
        assert!(now.ends_with("# the end\n"), "{now}");
    }
}

#[test]
fn what_cannot_be_is_refused_and_nothing_changes() {
    let folder = spring("pier-four");
    let folder = folder.path();
    done(folder, &["layout", "add", "lighthouse", "--serial", "pier-01"]);
    done(folder, &["layout", "add", "mole"]);
    done(folder, &["layout", "add", "buoy", "--module-sheet", "quay-four"]);
    lot_done(folder, &["reject", "pier-04", "--reason", "cracked", "--by", "Ines"]);
    let (plan, lots) = (plan_of(folder), whereabouts(folder));
    for (arguments, words) in [
        (
            &["add", "lock", "--serial", "pier-01"][..],
            &["pier-01 of the lot spring", "\"lighthouse\" already (line 5)"][..],
        ),
        (&["add", "lock", "--serial", "pier-77"], &["no open lot", "pier-77"]),
        (&["add", "lock", "--serial", "pier-02", "--lot", "autumn"], &["no lot autumn"]),
        (
            &["add", "lock", "--serial", "pier-04"],
            &["pier-04 is rejected", "cracked", "lot accept"],
        ),
        (
            &["add", "lock", "--serial", "pier-02", "--module-sheet", "pier-four"],
            &["cannot be used with"],
        ),
        (&["add", "lock", "--lot", "spring"], &["--serial"]),
        (&["add", "lock", "--serial", "pier-02", "--by", "a\nb"], &["who decides is one line"]),
        (&["replace", "lighthouse", "--serial", "pier-01"], &["pier-01 sits there already"]),
        (&["replace", "mole", "--serial", "pier-01"], &["\"lighthouse\" already"]),
        (
            &["replace", "buoy", "--serial", "pier-02"],
            &["pier-02 is a pier-four", "quay-four", "layout retire"],
        ),
        (&["replace", "lock", "--serial", "pier-02"], &["no module \"lock\""]),
        (
            &["move", "mole", "--first", "1"],
            &["\"mole\" cannot have dcc 1 to 4", "\"lighthouse\"", "--first 5"],
        ),
        (&["move", "mole", "--first", "3"], &["cannot be set"]),
        (&["move", "buoy", "--format", "trinary"], &["does not understand trinary"]),
        (&["rename", "mole", "LightHouse"], &["already"]),
        (&["rename", "mole", "../x"], &["cannot be used"]),
        (&["retire", "lock"], &["no module \"lock\""]),
        (&["retire", "lighthouse", "--to", "built-in"], &["taken out is here, missing"]),
    ] {
        let why = refused(folder, &[&["layout"], arguments].concat());
        for word in words {
            assert!(why.contains(word), "{arguments:?}: {word:?} is not in: {why}");
        }
    }
    for (arguments, words) in [
        (
            &["where", "pier-01", "returned"][..],
            &["layout.toml has pier-01 in it as lighthouse (line 5)"][..],
        ),
        (&["where", "pier-01", "built-in", "--at", "mole"], &["has pier-01 in it as lighthouse"]),
        (
            &["where", "pier-02", "built-in", "--at", "Mole"],
            &["said by layout.toml", "layout replace"],
        ),
    ] {
        let why = lot_refused(folder, &[arguments, &["--by", "Ines"]].concat());
        assert!(words.iter().all(|word| why.contains(word)), "{why}");
    }
    assert_eq!((plan_of(folder), whereabouts(folder)), (plan, lots));
}

#[test]
fn what_was_changed_by_hand_is_told_at_its_line() {
    let folder = spring("pier-four");
    let folder = folder.path();
    done(folder, &["layout", "add", "lighthouse", "--serial", "pier-01"]);
    done(folder, &["layout", "add", "mole", "--serial", "pier-02"]);
    let plan = plan_of(folder);
    let with = |old: &str, new: &str, words: &[&str]| {
        assert!(plan.contains(old));
        fs::write(folder.join("layout.toml"), plan.replacen(old, new, 1)).expect("written");
        let why = refused(folder, &["layout", "check"]);
        for word in words {
            assert!(why.contains(word), "{word:?} is not in: {why}");
        }
        refused(folder, &["label", "lighthouse"]);
    };
    with(
        "serial = \"pier-01\"",
        "serial = \"pier-02\"",
        &["layout.toml:17:10", "\"lighthouse\" already (line 5)"],
    );
    with(
        "serial = \"pier-01\"",
        "serial = \"pier-77\"",
        &["layout.toml:9:10", "no module pier-77"],
    );
    with("lot = \"spring\"", "lot = \"autumn\"", &["layout.toml:9:10", "no lot autumn"]);
    with("lot = \"spring\"\n", "", &["layout.toml:9:10", "`serial` needs `lot`"]);
    with("serial = \"pier-01\"\n", "", &["layout.toml:9:7", "`lot` needs `serial`"]);
    with("serial = \"pier-01\"", "serial = \"../x\"", &["layout.toml:9:10", "cannot be used"]);
    with(
        "module_sheet = \"pier-four\"\nformat = \"dcc\"\naddress = 1\n",
        "module_sheet = \"quay-four\"\nformat = \"dcc\"\naddress = 129\n",
        &["layout.toml:9:10", "is a pier-four, not a quay-four"],
    );
    with(
        "serial = \"pier-01\"",
        "serial = \"pier-03\"",
        &[
            "layout.toml:9:10",
            "has pier-03 somewhere",
            "lot where pier-03 built-in --at lighthouse",
        ],
    );
    // The lot says it too, and both are put right by what the sentences name.
    fs::write(folder.join("layout.toml"), plan.replacen("pier-01", "pier-03", 1)).expect("written");
    let show = musterbench(folder).args(["lot", "show", "spring"]).output().expect("it starts");
    let told = whole_lines(&String::from_utf8_lossy(&show.stderr));
    assert!(told.contains("pier-01 built in as \"lighthouse\", but here pier-03"), "{told}");
    lot_done(folder, &["where", "pier-03", "built-in", "--at", "lighthouse", "--by", "Ines"]);
    lot_done(folder, &["where", "pier-01", "here", "--by", "Ines"]);
    assert!(done(folder, &["layout", "check"]).contains("nothing is wrong"));
    assert_eq!(whereabouts(folder), ["here", "built-in, mole", "built-in, lighthouse", ""]);
}

/// The history stays with the serial, wherever it sits; so does what its label says.
#[test]
fn a_test_of_a_place_is_recorded_with_the_module_that_sits_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    lot_done(folder, &["open", "spring", "--count", "2", "--serial", "pier-{}"]);
    tried(folder, "pier-01", None);
    tried(folder, "pier-02", Some("output-stuck"));
    done(folder, &["layout", "add", "lighthouse", "--first", "181", "--serial", "pier-01"]);
    let label = |name: &str| json(&done(folder, &["label", name, "--json"]))["standing"].clone();
    assert_eq!(
        (&label("lighthouse")["serial"], &label("lighthouse")["fate"]),
        (&"pier-01".into(), &"accepted".into())
    );
    done(folder, &["layout", "rename", "lighthouse", "north light"]);
    let test = [
        "test",
        "--port",
        "simulated",
        "--unattended",
        "--layout",
        "layout.toml",
        "--module",
        "north light",
    ];
    done(folder, &test);
    assert!(folder.join("records/spring/pier-01/run-002.csv").exists());
    assert!(!folder.join("records/unsorted").exists());
    assert_eq!(label("north light")["tries"], 2);
    assert!(
        refused(folder, &[&test[..], &["--lot", "autumn"]].concat()).contains("leave --lot out")
    );
    // Another module sits there: its label says what became of that one.
    let replace = ["layout", "replace", "north light", "--serial", "pier-02"];
    let output = musterbench(folder).args(replace).output().expect("it starts");
    assert_eq!(complaint(&output), (0, "pier-02 is to repeat, not accepted yet.\n".into()));
    assert_eq!(label("north light")["fate"], "to repeat");
}
