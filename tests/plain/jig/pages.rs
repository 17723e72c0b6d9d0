//! The pages of the docs, and their tables.

use std::path::{Path, PathBuf};

/// A page of the docs.
pub fn page(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs").join(name)
}

/// What stands in a file of the docs.
pub fn read(name: &str) -> String {
    std::fs::read_to_string(page(name)).unwrap_or_else(|e| panic!("docs/{name}: {e}"))
}

/// The cells of every row of the tables in a text.
pub fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().filter_map(|line| {
        let row = line.strip_prefix("| ")?.strip_suffix('|')?;
        (!row.starts_with("---")).then(|| row.split('|').map(str::trim).collect())
    })
}

/// The sheets that have a netlist.
pub const SHEETS: [&str; 10] = [
    "feed",
    "bridge",
    "loads",
    "guard",
    "latches",
    "clamp",
    "converters",
    "logic",
    "registers",
    "resistance",
];

#[test]
fn pages_and_drawings_are_small() {
    let mut seen = 0;
    for folder in [page(""), page("jig")] {
        for entry in std::fs::read_dir(folder).expect("the folder") {
            let entry = entry.expect("an entry");
            let length = entry.metadata().expect("its size").len();
            if entry.path().is_file() {
                assert!(length < 20_000, "{}: {length} bytes", entry.path().display());
                seen += 1;
            }
        }
    }
    assert!(seen > 2 * SHEETS.len());
}
