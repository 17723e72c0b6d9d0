//! What is suspected of a run that does not pass: on the screen, in the record, as JSON, the same each time.

use crate::kit::program::{complaint, facts, musterbench, said, short_script};
use serde_json::Value;
use std::path::Path;
use std::process::Output;

fn run(folder: &Path, more: &[&str]) -> Output {
    let mut command = musterbench(folder);
    command.args(["test", "--port", "simulated", "--unattended", "--module", "P4-1"]);
    command.args(["--script", "short.toml", "--fault", "reservoir-small=0.7"]);
    command.args(["--diagnosis", "runs"]).args(more);
    command.output().expect("it starts")
}

fn ended(output: &Output) -> Value {
    let text = said(output);
    let last = text.lines().last().expect("a line");
    serde_json::from_str(last).expect("JSON")
}

#[test]
fn what_is_suspected_is_told_everywhere_and_the_same_each_time() {
    let folder = tempfile::tempdir().expect("a folder");
    short_script(folder.path());
    let first = ended(&run(folder.path(), &["--json"]));
    let suspects = &first["suspects"];
    assert_eq!(suspects["all"][0]["cause"], "reservoir-small", "{first}");
    assert_eq!(first["blame"], "module", "{first}");
    let finding = first["finding"].as_str().expect("text");
    assert!(finding.contains("Likeliest: reservoir-small, "), "{finding}");
    let severity = &suspects["all"][0]["severity"];
    let (from, to) = (severity["from"].as_f64().unwrap(), severity["to"].as_f64().unwrap());
    assert!(from <= 0.7 && 0.7 <= to && to - from < 0.3, "{severity}");

    let kept = facts(folder.path(), 1);
    assert_eq!((&kept["suspects"], &kept["suspect"]), (suspects, &suspects["all"][0]["cause"]));

    // On the screen too, and the same again.
    let shown = said(&run(folder.path(), &[]));
    assert!(shown.contains("Likeliest: reservoir-small"), "{shown}");
    assert_eq!(&facts(folder.path(), 2)["suspects"], suspects);
    let usual = ["test", "--port", "simulated", "--unattended", "--module", "P4-1", "--json"];
    let mut by_rules = musterbench(folder.path());
    by_rules.args(usual).args(["--script", "short.toml", "--fault", "reservoir-small=0.7"]);
    assert_eq!(ended(&by_rules.output().expect("it starts"))["suspects"], Value::Null);
}

#[test]
fn odds_of_ones_own_are_read_and_bad_ones_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    short_script(folder.path());
    let shipped = include_str!("../../../fixtures/odds.toml");
    let odds = folder.path().join("odds.toml");
    std::fs::write(&odds, shipped.replace("jig = 7.0", "jig = -7.0")).expect("written");
    let (code, text) = complaint(&run(folder.path(), &["--odds", "odds.toml"]));
    assert!(code == 2 && text.contains("odds.toml: jig is -7: a weight"), "{text}");
    let (code, text) = complaint(&run(folder.path(), &["--odds", "no.toml"]));
    assert!(code == 2 && text.contains("no.toml"), "{text}");
}
