use super::contents::parse;
use super::*;
use crate::judge::reading::{Blame, Verdict};
use crate::record::example::{closing, head, reading};
use crate::record::run_record::RunEnding;
use proptest::prelude::*;

/// A journal with some readings, its bytes cut at the end of what was written.
fn written(readings: usize, closed: bool) -> Vec<u8> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.journal");
    let mut journal = Journal::create(&Disk::default(), &path, head(), 1000).expect("made");
    for i in 0..readings {
        let mut one = reading(Verdict::Fail, Some(Blame::Lead));
        one.value = Some(i as f64);
        one.uncertainty = None;
        journal.read(&one).expect("written");
    }
    if closed {
        journal.close(&closing(Verdict::Fail)).expect("closed");
    }
    let bytes = std::fs::read(&path).expect("there");
    bytes[..journal.written.end as usize].to_vec()
}

#[test]
fn what_was_written_is_read_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.journal");
    let mut journal = Journal::create(&Disk::default(), &path, head(), 1000).expect("made");
    // Many more than there is space for: it grows.
    let one = reading(Verdict::Pass, None);
    for _ in 0..1000 {
        journal.read(&one).expect("written");
    }
    journal.sync().expect("durable");
    let read = journal.contents().expect("read");
    assert_eq!(read.head, Some(head()));
    assert!(read.readings.iter().all(|kept| *kept == KeptReading::of(&one)));
    assert_eq!((read.readings.len(), read.closing, read.lost), (1000, None, 0));
    assert!(std::fs::metadata(&path).expect("there").len() >= journal.written.end + CLOSING_SPACE);

    journal.close(&closing(Verdict::Pass)).expect("written");
    let record = journal.contents().expect("read").record("never").expect("a record");
    assert_eq!(record.closing, closing(Verdict::Pass));
    assert_eq!(record.readings.len(), 1000);
}

#[cfg(unix)]
#[test]
fn the_space_is_there_before_the_first_reading() {
    use std::os::unix::fs::MetadataExt;
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.journal");
    let journal = Journal::create(&Disk::default(), &path, head(), 300_000).expect("made");
    let meta = journal.file.file().metadata().expect("known");
    assert!(meta.blocks() * 512 >= 300_000);
}

#[test]
fn a_journal_that_cannot_have_its_space_leaves_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("run-003.journal");
    let error = Journal::create(&Disk::default(), &path, head(), 1 << 45)
        .expect_err("too much")
        .to_string();
    assert!(error.starts_with("cannot take space for "), "{error}");
    assert!(!path.exists());
}

#[test]
fn another_file_is_not_taken_for_a_journal() {
    assert!(parse(b"groceries\n").is_none());
    assert!(parse(&[0; 100]).expect("reserved, never written").head.is_none());
    assert!(parse(b"").expect("not even reserved").head.is_none());
    assert!(parse(&FIRST_LINE[..7]).expect("hardly begun").head.is_none());
}

/// The values of the readings that a record is made of when the journal holds `bytes`.
fn values(bytes: &[u8]) -> Vec<f64> {
    let record = parse(bytes).and_then(|contents| contents.record("cut"));
    let readings = record.map(|record| record.readings).unwrap_or_default();
    readings.iter().filter_map(|kept| kept.row.value).collect()
}

/// A flip of any bit loses nothing but the frame that it is in, and a pass does not survive it.
#[test]
fn a_flipped_bit_anywhere_loses_one_frame_at_most() {
    let whole = written(3, true);
    let head_end = written(0, false).len();
    let mut lost = [0; 2];
    for at in 0..whole.len() {
        for bit in 0..8 {
            let mut bytes = whole.clone();
            bytes[at] ^= 1 << bit;
            let contents = parse(&bytes).expect("still a journal");
            assert!(contents.damaged, "{at}");
            let record = contents.clone().record("cut").expect("facts are there twice");
            let left = record.readings.len() + usize::from(contents.closing.is_some());
            assert_eq!(left, if at < head_end { 4 } else { 3 }, "{at}");
            lost[usize::from(left == 3)] += 1;
            let is_whole = at < head_end;
            assert_eq!(record.closing.ending == RunEnding::Complete, is_whole, "{at}");
        }
    }
    assert_eq!(lost.iter().sum::<usize>(), 8 * whole.len());
    assert!(lost[0] > 0 && lost[1] > 0);
}

proptest! {
    #[test]
    fn cut_anywhere_what_came_before_stays(readings in 0_usize..6, at in 0.0..1.0_f64, zeros in 0_usize..64) {
        let whole = written(readings, false);
        let cut = (whole.len() as f64 * at) as usize;
        let mut bytes = whole[..cut].to_vec();
        bytes.resize(cut + zeros, 0);
        let found = values(&bytes);
        // A prefix of what was written, and all the frames that are whole.
        let size = (written(1, false).len() - written(0, false).len()) as f64;
        let at_least = readings as f64 - ((whole.len() - cut) as f64 / size).ceil();
        prop_assert!(found.len() as f64 >= at_least && found.len() <= readings);
        prop_assert!(found.iter().enumerate().all(|(i, v)| *v == i as f64));
    }
}
