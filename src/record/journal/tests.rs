use super::*;
use crate::judge::reading::{Blame, Verdict};
use crate::record::example::{facts, reading};
use crate::record::row::Row;
use proptest::prelude::*;

/// A journal with some readings, its bytes cut at the end of what was written.
fn written(readings: usize) -> Vec<u8> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.journal");
    let mut journal = Journal::create(&path, facts(), 1000).expect("made");
    for i in 0..readings {
        let mut one = reading(Verdict::Fail, Some(Blame::Lead));
        one.value = Some(i as f64);
        journal.read(&one).expect("written");
    }
    let bytes = std::fs::read(&path).expect("there");
    bytes[..journal.end as usize].to_vec()
}

#[test]
fn what_was_written_is_read_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.journal");
    let mut journal = Journal::create(&path, facts(), 1000).expect("made");
    // Many more than there is space for: it grows.
    let one = reading(Verdict::Pass, None);
    for _ in 0..1000 {
        journal.read(&one).expect("written");
    }
    journal.sync().expect("durable");
    let read = journal.contents().expect("read");
    assert_eq!(read.facts, Some(facts()));
    assert_eq!(read.readings, reading_line(&facts(), &one).repeat(1000));
    assert_eq!(read.closing, None);
    assert!(std::fs::metadata(&path).expect("there").len() >= journal.end + CLOSING_SPACE);

    let closing =
        Closing { verdict: Verdict::Pass, blame: None, readings: 1000, note: "complete".into() };
    journal.close(&closing).expect("written");
    let report = journal.contents().expect("read").report("never").expect("a report");
    assert_eq!(report_csv::summarise(&report).expect("ours").closing, closing);
}

#[test]
fn the_space_is_there_before_the_first_reading() {
    use std::os::unix::fs::MetadataExt;
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.journal");
    let journal = Journal::create(&path, facts(), 300_000).expect("made");
    let meta = journal.file.metadata().expect("known");
    assert!(meta.blocks() * 512 >= 300_000);
}

#[test]
fn a_journal_that_cannot_have_its_space_leaves_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.journal");
    let error = Journal::create(&path, facts(), 1 << 45).expect_err("too much").to_string();
    assert!(error.starts_with("cannot take space for "), "{error}");
    assert!(!path.exists());
}

#[test]
fn another_file_is_not_taken_for_a_journal() {
    assert!(parse(b"groceries\n").is_none());
    assert!(parse(&[0; 100]).expect("reserved, never written").facts.is_none());
    assert!(parse(b"").expect("not even reserved").facts.is_none());
}

/// The readings that a report is made of when the journal holds `bytes`.
fn values(bytes: &[u8]) -> Vec<f64> {
    let Some(report) = parse(bytes).and_then(|c| c.report("cut")) else { return Vec::new() };
    let table = Table::read(&report).expect("a table");
    let rows = table.rows().map(|row| row.read::<Row>().expect("a row"));
    rows.filter(|row| row.quantity != report_csv::CLOSING).filter_map(|row| row.value).collect()
}

proptest! {
    #[test]
    fn cut_anywhere_what_came_before_stays(readings in 0_usize..6, at in 0.0..1.0_f64, zeros in 0_usize..64) {
        let whole = written(readings);
        let cut = (whole.len() as f64 * at) as usize;
        let mut bytes = whole[..cut].to_vec();
        bytes.resize(cut + zeros, 0);
        let found = values(&bytes);
        // A prefix of what was written, and all the frames that are whole.
        let size = reading_line(&facts(), &reading(Verdict::Fail, Some(Blame::Lead))).len() - 18 + FRAME_HEAD;
        let at_least = readings.saturating_sub((whole.len() - cut).div_ceil(size));
        prop_assert!(found.len() >= at_least && found.len() <= readings);
        prop_assert!(found.iter().enumerate().all(|(i, v)| *v == i as f64));
    }

    #[test]
    fn a_flipped_bit_never_invents_a_reading(readings in 1_usize..5, at in 0.0..1.0_f64, bit in 0..8_u8) {
        let mut bytes = written(readings);
        let i = (bytes.len() as f64 * at) as usize;
        bytes[i] ^= 1 << bit;
        let found = values(&bytes);
        prop_assert!(found.len() < readings);
        prop_assert!(found.iter().enumerate().all(|(i, v)| *v == i as f64));
    }

    #[test]
    fn no_bytes_make_it_fall_over(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let _ = parse(&[FIRST_LINE, &bytes].concat());
        let _ = decode(&bytes);
    }
}
