//! The parts list has what is on the sheets, and as many.

use super::netlist::Netlist;
use super::pages::{read, rows};
use std::collections::BTreeMap;

#[test]
fn the_list_is_what_the_sheets_need() {
    let mut needed: BTreeMap<String, usize> = BTreeMap::new();
    for (kind, _, times) in Netlist::read().parts.values() {
        *needed.entry(kind.clone()).or_default() += times;
    }
    let text = read("jig-parts.md");
    let mut listed: BTreeMap<String, usize> = BTreeMap::new();
    for row in rows(&text) {
        let Some(kind) = row[0].strip_prefix('`') else { continue };
        let pieces = row[1].parse().expect("a number of pieces");
        assert!(!row[2].is_empty(), "{kind}: what is it?");
        let old = listed.insert(kind.trim_end_matches('`').into(), pieces);
        assert_eq!(old, None, "{kind} stands twice");
    }
    assert_eq!(listed, needed);
}
