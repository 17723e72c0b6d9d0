//! What is done by hand: who may go without. What is asked, and how it is answered, is tested at a
//! terminal, in `prompts`.

use crate::kit::program::{assert_one_sentence, complaint, musterbench, report, rows, said};
use crate::prompts::jig::real_jig;

#[test]
fn a_real_jig_is_not_left_alone_with_steps_by_hand() {
    let folder = tempfile::tempdir().expect("a folder");
    let jig = real_jig("pier-four");
    for (unattended, words) in [(true, "--unattended"), (false, "no terminal to ask at")] {
        let mut command = musterbench(folder.path());
        command.args(["test", "--module", "P4-1", "--port", &jig.port]);
        command.args(unattended.then_some("--unattended"));
        let (code, text) = complaint(&command.output().expect("it starts"));
        assert_eq!(code, 2, "{text}");
        assert_one_sentence(&text);
        assert!(text.contains("steps by hand") && text.contains(words), "{text}");
    }
    assert_eq!(jig.turned_on(), 0);
    assert!(!folder.path().join("records").exists());
}

#[test]
fn a_run_on_a_real_jig_is_not_called_simulated() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = "title = \"No hands\"\nsteps = [ { measure = \"hook-up\" } ]\n";
    std::fs::write(folder.path().join("mine.toml"), script).expect("written");
    let jig = real_jig("pier-four");
    let mut command = musterbench(folder.path());
    command.args(["test", "--module", "P4-1", "--port", &jig.port, "--script", "mine.toml"]);
    let output = command.output().expect("it starts");
    assert_eq!(complaint(&output).0, 0, "{}", said(&output));
    assert!(!said(&output).contains("SIMULATED"));
    for row in rows(&report(folder.path(), 1)) {
        assert_eq!((row["simulated"].as_str(), row["jig"].as_str()), ("no", "0042"));
    }
}
