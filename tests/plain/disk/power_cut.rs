//! The computer loses its power at any moment: every reading that was shown is in the recovered report.
//!
//! A run is recorded on a disk that writes down all that is done to it. From that follows each state that
//! the disk may be in when the power goes, before and after every single deed; each is put into a folder
//! and recovered.

use crate::kit::disks::forgetful::{Deed, Fate, Recording, Twin, Unflushed};
use crate::kit::recorded::{go, recorder, short_plan};
use musterbench::judge::reading::{Reading, Verdict};
use musterbench::record::OnDisk;
use musterbench::record::disk::Disk;
use musterbench::record::facts::Facts;
use musterbench::record::folder::LotFolder;
use musterbench::record::row::Row;
use musterbench::record::{recover, report};
use musterbench::run::event::{Ending, JigIdentity};
use musterbench::run::unattended::Readings;
use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Notes among the deeds how many readings have been shown.
struct Shown(Recording, usize);

impl OnDisk for Shown {
    fn began(&mut self, _: &Facts, _: &JigIdentity) {}
    fn readings(&mut self, readings: &[Reading]) {
        self.1 += readings.len();
        self.0.note(Deed::Shown(self.1));
    }
}

/// So many states by chance for each deed.
const CHANCES: usize = 4;

#[test]
fn every_reading_that_was_shown_survives_a_power_cut_at_any_moment() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let recording = Recording::default();
    let disk = Disk::of(Arc::new(recording.clone()));
    let records = root.join("records");
    let mut recorder = recorder(&disk, &records, Box::new(Shown(recording.clone(), 0)));
    let (mut read, stop) = (Readings::default(), AtomicBool::new(false));
    let (outcome, _) = go(&short_plan(), &stop, &mut [&mut recorder, &mut read]);
    assert_eq!(outcome.ending, Ending::Complete);
    drop(recorder);
    let deeds = recording.deeds();
    let last = deeds.iter().rev().find_map(|deed| match deed {
        Deed::Shown(shown) => Some(*shown),
        _ => None,
    });
    assert_eq!(last, Some(read.0.len()));

    let mut chance = Xoshiro256PlusPlus::seed_from_u64(1);
    let mut twin = Twin::with(root);
    let (mut shown, mut table) = (0, BTreeMap::<_, (usize, usize, usize)>::new());
    let fates = [[Fate::Gone, Fate::There].as_slice(), &[Fate::Chance; CHANCES]].concat();
    for deed in &deeds {
        twin.take(deed);
        if let Deed::Shown(so_far) = deed {
            shown = *so_far;
        }
        for &fate in &fates {
            let at = tempfile::tempdir().expect("a folder");
            twin.put(root, at.path(), fate, &mut chance);
            let found = recovered(&at.path().join("records"), &read.0, shown);
            assert!(found >= shown, "after {deed:?}, {fate:?}: {found} of {shown} shown readings");
            let row = table.entry(deed.name()).or_default();
            *row = (row.0 + 1, row.1.max(shown), row.2 + found);
        }
    }
    println!("the power goes after   states   most readings shown   readings recovered in all");
    for (name, (states, most, recovered)) in &table {
        println!("{name:<22} {states:>6} {most:>21} {recovered:>27}");
    }
    let states: usize = table.values().map(|row| row.0).sum();
    println!(
        "{states} states, {} readings in the run; every one that was shown was found",
        read.0.len()
    );
    assert!(
        ["flush a file", "flush a folder", "rename", "remove"]
            .iter()
            .all(|n| table.contains_key(n))
    );
}

/// Recovers what lies there: how many readings of the run its report has. The first are those that were
/// shown; of the others some may be there, in their order. A pass is only what the whole run is.
fn recovered(records: &Path, read: &[Reading], shown: usize) -> usize {
    if !records.join("quay").is_dir() {
        return 0;
    }
    let lot = LotFolder::open_on(&Disk::of(Arc::new(Unflushed)), records, "quay").expect("there");
    let recovered = recover::lot(lot).expect("recovered");
    let stuck = recovered.fates.iter().find(|fate| matches!(fate, recover::Fate::Stuck(_)));
    assert!(stuck.is_none(), "{stuck:?}");
    recovered.lot_csv.expect("listed");
    let path = records.join("quay/lock/run-001.csv");
    if !path.exists() {
        return 0;
    }
    let summary = report::summary(&path).expect("whole");
    if summary.readings == 0 {
        return 0;
    }
    let report = report::read(&path).expect("whole");
    assert!(report.is_proven);
    let mut all = read.iter().map(Row::of).enumerate();
    for (number, kept) in report.readings.iter().enumerate() {
        let place = all.find(|(_, row)| *row == kept.row).map(|(place, _)| place);
        assert!(place.is_some_and(|place| place == number || number >= shown), "{kept:?}");
    }
    assert!(summary.verdict != Verdict::Pass || report.readings.len() == read.len());
    report.readings.len()
}
