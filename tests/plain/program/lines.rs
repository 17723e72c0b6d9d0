//! No line of any command is wider than 80 columns where there is no terminal that says otherwise, and
//! nothing that came from outside reaches a terminal raw.

use crate::kit::program::musterbench;
use musterbench::report::wrap::width;
use proptest::prelude::*;
use std::path::Path;

/// Every command that says something to people.
const COMMANDS: &[&[&str]] = &[
    &["faults"],
    &["ports"],
    &["address", "9"],
    &["script", "check", "arrival"],
    &["script", "check", "thorough"],
    &["script", "check", "in-place", "--loads", "harbour-basin"],
    &["script", "check", "in-place", "--loads", "crane-yard"],
    &["load", "check", "harbour-basin"],
    &["load", "check", "harbour-basin", "--why"],
    &["load", "check", "crane-yard", "--why"],
    &["rollcall", "--port", "simulated"],
    &["test", "--port", "simulated", "--unattended", "--module", "lock-7"],
    &[
        "test",
        "--port",
        "simulated",
        "--unattended",
        "--module",
        "lock-7",
        "--fault",
        "weak-feed",
        "--verbose",
    ],
    &["explain", "records/unsorted/lock-7/run-001.csv", "operate"],
    &["recover"],
    &["calibrate", "--port", "simulated", "--unattended", "--channels", "1a,feed"],
    &[
        "recheck",
        "--port",
        "simulated",
        "--unattended",
        "--clamp",
        "1a",
        "--resistor",
        "22 ohm ±1 %",
    ],
    &[
        "load",
        "from-sample",
        "mine.toml",
        "--port",
        "simulated",
        "--unattended",
        "--loads",
        "crane-yard",
        "--clamp",
        "1a",
        "--name",
        "crane",
        "--rest",
        "10 ms",
    ],
    &["layout", "add", "lock-7", "--module-sheet", "pier-four"],
    &["layout", "list"],
    &["layout", "check"],
    &["layout", "next", "--module-sheet", "pier-four"],
    &["test", "--port", "simulated", "--module", "lock-7"],
    &["test"],
    &["nonsense"],
    &["trial", "records/unsorted/lock-7/run-001.csv"],
    &["address", "99999999"],
    &[
        "script",
        "check",
        "no/such/file/as/this/one/which/has/a/long/name/that/does/not/fit/in/a/line",
    ],
];

const HELP: &[&str] = &[
    "test",
    "ports",
    "simulate",
    "address",
    "rollcall",
    "calibrate",
    "recheck",
    "load",
    "script",
    "faults",
    "layout",
    "label",
    "trial",
    "recover",
    "explain",
];

fn assert_fits(folder: &Path, arguments: &[&str]) {
    let output = musterbench(folder).args(arguments).output().expect("it starts");
    for (stream, bytes) in [("says", output.stdout), ("tells", output.stderr)] {
        let text = String::from_utf8(bytes).expect("text");
        for line in text.lines() {
            assert!(width(line) <= 80, "{arguments:?} {stream} {} columns: {line}", width(line));
        }
    }
}

#[test]
fn no_line_of_any_command_is_wider_than_eighty_columns() {
    let folder = tempfile::tempdir().expect("a folder");
    for arguments in COMMANDS {
        assert_fits(folder.path(), arguments);
    }
    for command in HELP {
        assert_fits(folder.path(), &[command, "--help"]);
    }
}

/// Text that tries to steer a terminal, or to turn what is beside it around.
fn hostile() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just("\u{1b}[2J".to_owned()),
        Just("\u{1b}]0;title\u{7}".to_owned()),
        Just("\u{9b}31m".to_owned()),
        Just("\u{1b}[1;31mFAIL\u{1b}[0m".to_owned()),
        Just("\u{202e}".to_owned()),
        Just("\u{7f}\u{8}".to_owned()),
        Just("\r".to_owned()),
        Just("\n".to_owned()),
        "[a-z]{1,6}",
        any::<char>().prop_filter("not nul", |c| *c != '\0').prop_map(String::from),
    ];
    proptest::collection::vec(piece, 1..5).prop_map(|pieces| pieces.concat())
}

/// Where text from outside comes in: every argument that takes words, and every file.
fn inputs(text: &str) -> Vec<Vec<&str>> {
    vec![
        vec![text],
        vec!["test", "--port", text, "--module", "lock-7"],
        vec!["test", "--port", "simulated", "--module", text],
        vec!["test", "--port", "simulated", "--module", "lock-7", "--lot", text],
        vec!["test", "--port", "simulated", "--module", "lock-7", "--operator", text],
        vec!["test", "--port", "simulated", "--module", "lock-7", "--script", text],
        vec!["test", "--port", "simulated", "--module", "lock-7", "--fault", text],
        vec!["test", "--port", "simulated", "--module", "lock-7", "--seed", text],
        vec!["test", "--port", "simulated", "--module", "lock-7", "--layout", text],
        vec!["address", "--module-sheet", text, "9"],
        vec!["address", text],
        vec!["address", "--switches", text],
        vec!["script", "check", "arrival", "--loads", text],
        vec!["script", "check", "hostile.toml"],
        vec!["load", "check", "hostile.toml"],
        vec!["address", "--module-sheet", "hostile.toml", "9"],
        vec!["explain", "hostile.toml", "2"],
        vec!["explain", text, text],
        vec!["trial", "hostile.toml", text],
        vec!["recover", "--records", text],
        vec!["layout", "check", "--layout", "hostile.toml"],
        vec!["layout", "list", "--layout", text],
        vec!["label", text],
        vec!["calibrate", "--port", "simulated", "--unattended", "--channels", text],
        vec!["recheck", "--port", "simulated", "--clamp", text, "--resistor", text],
        vec!["load", "from-sample", text, "--port", "simulated", "--clamp", "1a", "--name", text],
        vec!["rollcall", "--port", "simulated", "--switches", text],
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 40, ..ProptestConfig::default() })]

    #[test]
    fn no_control_character_of_any_input_reaches_the_terminal(text in hostile()) {
        let folder = tempfile::tempdir().expect("a folder");
        // As a title, a key, a name and a path in one file.
        let file = format!("title = \"{text}\"\n{text} = 1\n[\"{text}\"]\nname = '{text}'\n");
        std::fs::write(folder.path().join("hostile.toml"), file).expect("written");
        for arguments in inputs(&text) {
            let output = musterbench(folder.path()).args(&arguments).output().expect("it starts");
            for bytes in [output.stdout, output.stderr] {
                let shown = String::from_utf8(bytes).expect("text");
                let raw = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
                prop_assert!(!shown.chars().any(raw), "{arguments:?}: {shown:?}");
            }
        }
    }
}
