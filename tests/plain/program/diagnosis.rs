//! Odds of one's own for a diagnosis.

use crate::kit::program::{complaint, musterbench, short_script};
use std::path::Path;
use std::process::Output;

fn run(folder: &Path, more: &[&str]) -> Output {
    let mut command = musterbench(folder);
    command.args(["test", "--port", "simulated", "--unattended", "--module", "P4-1"]);
    command.args(["--script", "short.toml", "--fault", "reservoir-small=0.7"]);
    command.args(["--diagnosis", "runs"]).args(more);
    command.output().expect("it starts")
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
    for strange in ["no.toml", "/dev/zero"] {
        let (code, text) = complaint(&run(folder.path(), &["--odds", strange]));
        assert!(code == 2 && text.contains(strange), "{text}");
    }
}
