//! Modules that go to their places: set, proven, labelled.

use crate::kit::program::{complaint, musterbench, rows};
use crate::kit::terminal::Terminal;
use std::path::Path;

fn says(folder: &Path, arguments: &[&str]) {
    let output = musterbench(folder).args(arguments).output().expect("it starts");
    let (code, text) = complaint(&output);
    assert_eq!(code, 0, "{arguments:?}: {text}");
}

#[test]
fn an_accepted_module_is_proven_at_its_place_and_gets_its_label() {
    for (kind, first) in [("pier-four", "41"), ("quay-four", "221"), ("jetty-two", "53")] {
        let folder = tempfile::tempdir().expect("a folder");
        let folder = folder.path();
        says(
            folder,
            &["lot", "open", "spring", "--kind", kind, "--count", "2", "--serial", "m-{}"],
        );
        let muster = ["muster", "spring", "--port", "simulated", "--operator", "Ines"];
        let mut person = Terminal::start(folder, &muster);
        person.hears("seat m-01,");
        person.hears("Enter start");
        person.types("\r");
        person.hears("seat m-02,");
        person.hears("Enter start");
        person.types("q");
        assert_eq!(person.ends(), 5, "{}", person.everything());
        let add = ["layout", "add", "--by", "Ines", "--reason", "built"];
        says(folder, &[&add[..], &["lighthouse", "--serial", "m-01", "--first", first]].concat());
        says(folder, &[&add[..], &["crane", "--serial", "m-02"]].concat());

        let mut person = Terminal::start(folder, &[&muster[..], &["--set"]].concat());
        person.hears("SIMULATED");
        person.hears("lighthouse, module m-01");
        person.hears("READY  set m-01 so with the power off");
        person.hears("q stop");
        person.types("\r");
        person.hears("1 of 2 places are set and proven.");
        assert_eq!(person.ends(), 0, "{}", person.everything());
        assert!(
            person.text().contains("m-02 is waiting: it goes to no place"),
            "{}",
            person.text()
        );
        assert!(folder.join("labels/lighthouse.svg").exists());
        let runs = rows(&folder.join("records/spring/lot.csv"));
        let set = runs.iter().find(|row| row["script"] == "set").expect("a run");
        assert_eq!((set["verdict"].as_str(), set["address_found"].as_str()), ("pass", first));
    }
}
