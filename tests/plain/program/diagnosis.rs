//! Odds of one's own for a diagnosis.

use crate::kit::program::{complaint, diagnosed, short_script};

#[test]
fn odds_of_ones_own_are_read_and_bad_ones_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    short_script(folder.path());
    let shipped = include_str!("../../../fixtures/odds.toml");
    let odds = folder.path().join("odds.toml");
    std::fs::write(&odds, shipped.replace("jig = 7.0", "jig = -7.0")).expect("written");
    let (code, text) = complaint(&diagnosed(folder.path(), &["--odds", "odds.toml"]));
    assert!(code == 2 && text.contains("odds.toml: jig is -7: a weight"), "{text}");
    for strange in ["no.toml", "/dev/zero"] {
        let (code, text) = complaint(&diagnosed(folder.path(), &["--odds", strange]));
        assert!(code == 2 && text.contains(strange), "{text}");
    }
}
