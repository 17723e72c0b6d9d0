use super::*;
use crate::record::example::{facts, record};
use crate::record::run_files;
use std::fs;

/// A lot of three runs, its `lot.csv` written as they ended.
fn lot(records: &Path) -> LotFolder {
    let lot = LotFolder::open(records, "quay").expect("made");
    for (module, run) in [("crane", 1), ("crane", 2), ("pier", 1)] {
        let mut record = record(2, Verdict::Pass);
        record.facts = Facts { module: module.into(), run, ..facts() };
        let folder = lot.module(module).expect("made");
        let summary = run_files::write(&folder, &record).expect("written");
        append(&lot, &summary).expect("listed");
    }
    lot
}

#[test]
fn rows_look_as_documented_and_a_rebuilt_table_says_the_same() {
    let records = tempfile::tempdir().expect("a folder");
    let lot = lot(records.path());
    let text = fs::read_to_string(lot.lot_csv()).expect("there");
    insta::assert_snapshot!(text.replace("\r\n", "\n"));
    assert!(agrees(&lot).expect("read"));
    fs::remove_file(lot.lot_csv()).expect("removed");
    assert!(!agrees(&lot).expect("read"));
    let rebuilt = rebuild(&lot).expect("rebuilt");
    assert_eq!((rebuilt.runs, rebuilt.skipped.len(), rebuilt.aside), (3, 0, None));
    assert_eq!(fs::read_to_string(lot.lot_csv()).expect("there").len(), text.len());
}

/// One damaged bit, wherever it is, stops nothing and loses nothing: the next run rebuilds the table and
/// keeps the damaged one. A header that is so damaged that it is not ours any more cannot be from one bit.
#[test]
fn a_flipped_bit_anywhere_is_noticed_and_mended() {
    let records = tempfile::tempdir().expect("a folder");
    let lot = lot(records.path());
    // In order of their start, as a rebuilt one is.
    rebuild(&lot).expect("rebuilt");
    let whole = fs::read(lot.lot_csv()).expect("there");
    let summary = report::summary(&lot.module("pier").expect("there").report(1)).expect("read");
    for at in 0..whole.len() {
        let mut bytes = whole.clone();
        bytes[at] ^= 1 << (at % 8);
        fs::write(lot.lot_csv(), &bytes).expect("written");
        let aside = append(&lot, &summary).expect("no byte stops it").expect("noticed");
        assert_eq!(fs::read(&aside).expect("kept"), bytes, "{at}");
        fs::remove_file(aside).expect("removed");
        assert_eq!(fs::read(lot.lot_csv()).expect("there"), whole, "{at}");
    }
    println!("{} flipped bits of lot.csv: all noticed, all mended", whole.len());
}

#[test]
fn a_table_of_something_else_is_never_touched() {
    let records = tempfile::tempdir().expect("a folder");
    let lot = LotFolder::open(records.path(), "quay").expect("made");
    fs::write(lot.lot_csv(), "fish,weight\nherring,0.3\n").expect("written");
    assert!(matches!(check(&lot), Err(RecordError::Foreign { .. })));
    assert!(matches!(rebuild(&lot), Err(RecordError::Foreign { .. })));
}
