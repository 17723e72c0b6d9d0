//! `load from-sample`: each specimen is connected by hand.

use super::jig::Jig;
use super::terminal::Terminal;
use musterbench::procedure::simulated_set_up::setup;
use musterbench::report::prompt::{ANSWER, NO_ANSWER};
use musterbench::script::shipped;

#[test]
fn a_specimen_is_connected_when_somebody_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let sheet = shipped::module_sheet("pier-four").expect("shipped");
    let loads = shipped::load_sheet("crane-yard").expect("shipped");
    for stop in [Some("q\n"), Some("\u{3}"), None] {
        let jig = Jig::with(setup(&sheet, Some(&loads), Vec::new(), 1));
        let mut arguments = vec!["load", "from-sample", "crane.toml", "--port", &jig.port];
        arguments.extend(["--clamp", "1a", "--name", "crane", "--times", "4", "--replace"]);
        arguments.extend(["--rest", "10 ms"]);
        let mut person = Terminal::start(folder.path(), &arguments);
        person.types("\n");
        person.hears("Jig 0042: connect the load to clamp 1a.");
        person.hears(ANSWER);
        person.pauses();
        person.types("in a minute\n");
        person.hears(NO_ANSWER);
        person.hears(ANSWER);
        assert!(!person.has_said("measurement 1 of 4"), "{}", person.everything());
        person.pauses();
        person.types(stop.unwrap_or("\n"));
        if stop.is_some() {
            assert_eq!(person.ends(), 5, "{}", person.everything());
            assert!(!folder.path().join("crane.toml").exists());
        } else {
            person.hears("measurement 1 of 4");
            person.ends();
        }
    }
}
