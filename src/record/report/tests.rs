use super::*;
use crate::record::example::{reading, record};
use crate::record::row::KeptReading;
use crate::record::run_record::RunRecord;
use std::path::PathBuf;

/// A report on the disk, with its facts file.
fn written(record: &RunRecord) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.csv");
    let report = record.report();
    let file = record.facts_file(&report);
    std::fs::write(&path, report).expect("written");
    std::fs::write(facts_beside(&path), file.to_json()).expect("written");
    (folder, path)
}

#[test]
fn a_report_looks_as_documented() {
    let report = record(1, Verdict::Fail).report();
    insta::assert_snapshot!(String::from_utf8(report).expect("text").replace("\r\n", "\n"));
}

#[test]
fn a_facts_file_looks_as_documented() {
    let record = record(1, Verdict::Fail);
    let file = record.facts_file(&record.report());
    insta::assert_snapshot!(String::from_utf8(file.to_json()).expect("text"));
}

#[test]
fn rows_hold_what_was_written() {
    let record = record(2, Verdict::Pass);
    let (_folder, path) = written(&record);
    let read = read(&path).expect("read");
    assert!(read.is_proven);
    assert_eq!(read.facts, Facts { address_found: Some(41), ..record.facts.clone() });
    assert_eq!(read.readings.iter().map(|r| r.number).collect::<Vec<_>>(), [2, 3]);
    for (found, kept) in read.readings.iter().zip(&record.readings) {
        // Control characters do not reach the file.
        let row = Row { note: "@seen again".into(), ..kept.row.clone() };
        assert_eq!(
            (&found.row, &found.background.limits_from),
            (&row, &kept.background.limits_from)
        );
        let lines = |b: &Background| b.budget.map(|b| b.lines().count());
        assert_eq!(lines(&found.background), lines(&kept.background));
    }
    assert_eq!(found_place(&read), "2b");
}

fn found_place(report: &Report) -> String {
    report.readings[0].row.place()
}

#[test]
fn a_flipped_bit_in_a_finished_report_is_found() {
    let (_folder, path) = written(&record(2, Verdict::Pass));
    let whole = std::fs::read(&path).expect("there");
    for at in 0..whole.len() {
        let mut bytes = whole.clone();
        bytes[at] ^= 1;
        std::fs::write(&path, bytes).expect("written");
        assert!(matches!(read(&path), Err(RecordError::Damaged { .. })), "{at}");
    }
}

#[test]
fn a_report_without_its_facts_file_never_passes() {
    let (_folder, path) = written(&record(2, Verdict::Pass));
    assert_eq!(summary(&path).expect("read").verdict, Verdict::Pass);
    std::fs::remove_file(facts_beside(&path)).expect("removed");
    let summary = summary(&path).expect("read");
    assert_eq!((summary.verdict, summary.is_cut_short()), (Verdict::Indeterminate, true));
    let read = read(&path).expect("read");
    assert!(!read.is_proven && read.readings.len() == 2);
}

#[test]
fn foreign_and_damaged_files_are_noticed() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.csv");
    let header = RunRecord { readings: vec![], ..record(0, Verdict::Pass) }.report();
    for (bytes, why) in [
        (&b""[..], "it is empty"),
        (b"a,b\r\n1,2\r\n", "its columns are not those of a report"),
        (b"a,b\r\n1\r\n", "a row is damaged"),
        (&header, "it has no rows"),
    ] {
        std::fs::write(&path, bytes).expect("written");
        let error = read(&path).expect_err("no report").to_string();
        assert!(error.ends_with(why), "{error}");
    }
}

#[test]
fn columns_that_a_later_version_adds_do_no_harm() {
    let (_folder, path) = written(&record(1, Verdict::Pass));
    let text = std::fs::read_to_string(&path).expect("there");
    let longer = text.replacen("\r\n", ",weather\r\n", 1).replacen(",,\r\n", ",,,fog\r\n", 1);
    assert_ne!(longer.len(), text.len() + 8);
    std::fs::remove_file(facts_beside(&path)).expect("removed");
    std::fs::write(&path, longer).expect("written");
    assert_eq!(read(&path).expect("read").readings.len(), 1);
}

/// Facts of a run are those of its report and of its row in `lot.csv`: names that mean two things
/// would be read as one.
#[test]
fn no_column_has_two_meanings() {
    let mut columns = columns();
    let count = columns.len();
    columns.sort();
    columns.dedup();
    assert_eq!(columns.len(), count);
}

/// `docs/records.md` tells every column.
#[test]
fn every_column_is_told_to_people() {
    let page = include_str!("../../../docs/records.md");
    for column in columns() {
        assert!(page.contains(&format!("`{column}`")), "docs/records.md does not tell `{column}`");
    }
    let lot = crate::record::lot_csv::columns();
    for column in lot {
        assert!(page.contains(&format!("`{column}`")), "docs/records.md does not tell `{column}`");
    }
    for quantity in crate::judge::quantity::Quantity::ALL {
        let (name, unit) = (quantity.name(), quantity.unit());
        let row = format!("| `{name}` | {unit} |");
        assert!(page.contains(&row), "docs/records.md lacks a row that begins with {row}");
    }
}

#[test]
fn what_is_kept_of_a_reading_survives_as_json() {
    let kept = KeptReading::of(&reading(Verdict::Pass, None));
    let text = serde_json::to_string(&kept).expect("JSON");
    let again: KeptReading = serde_json::from_str(&text).expect("JSON");
    assert_eq!(serde_json::to_string(&again).expect("JSON"), text);
    assert_eq!(again.row, kept.row);
}
