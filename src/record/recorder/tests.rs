use super::*;
use crate::judge::reading::{Blame, Verdict};
use crate::record::example::{self, reading};
use crate::record::report;
use crate::run::event::JigIdentity;
use recover::Fate;
use std::fs;

fn labels(module: &str) -> Labels {
    Labels { module: module.into(), lot: "quay".into(), operator: "Ines".into() }
}

fn head(run: u32) -> Head {
    let Head { facts, planned, self_test } = example::head();
    let facts = Facts { module: "P4-1".into(), run, operator: "Ines".into(), ..facts };
    Head { facts, planned: Planned { steps: 1, ..planned }, self_test }
}

fn opened(records: &Path) -> Recorder {
    Recorder::open(records, labels("P4-1"), Box::new(())).expect("opened")
}

/// Begins a run, which reads once.
fn begin(recorder: &mut Recorder) {
    let jig = JigIdentity {
        serial: "SIM-7".into(),
        firmware: "1.0".into(),
        simulated: true,
        calibration: None,
    };
    let (head, jig) = (Box::new(head(0)), Box::new(jig));
    recorder.give(Entry::Began { head, jig, space: 1000 }, 0).expect("room");
    tell(recorder, &Event::Read(&reading(Verdict::Fail, Some(Blame::Load))));
}

/// A recorder in the middle of its run, with one reading.
fn going_on(records: &Path) -> Recorder {
    let mut recorder = opened(records);
    begin(&mut recorder);
    tell(&mut recorder, &Event::StepEnded { index: 0 });
    recorder
}

/// Tells of an event, and waits until all of it is on the disk.
fn told(recorder: &mut Recorder, event: &Event<'_>) -> Result<(), ListenError> {
    recorder.on_event(event)?;
    while !recorder.settle(Duration::from_secs(60))? {}
    Ok(())
}

fn tell(recorder: &mut Recorder, event: &Event<'_>) {
    told(recorder, event).expect("listens");
}

fn outcome(ending: Ending) -> Outcome {
    Outcome {
        ending,
        verdict: Verdict::Fail,
        blame: Some(Blame::Load),
        suspects: None,
        readings: 1,
        failed: 1,
        indeterminate: 0,
        risk: Default::default(),
        answers_at: None,
        kind_found: None,
    }
}

/// Run, verdict, ending and report of every row.
fn lot_rows(records: &Path) -> Vec<[String; 4]> {
    let bytes = fs::read(records.join("quay/lot.csv")).expect("there");
    let mut rows = csv::Reader::from_reader(bytes.as_slice());
    let rows = rows.deserialize::<std::collections::HashMap<String, String>>();
    let columns = ["run", "verdict", "ending", "report"];
    rows.map(|row| row.expect("a row")).map(|row| columns.map(|c| row[c].clone())).collect()
}

fn first_row(ending: &str) -> [String; 4] {
    ["1", "fail", ending, "P4-1/run-001.csv"].map(String::from)
}

#[test]
fn a_finished_run_leaves_a_report_and_a_row_and_no_journal() {
    let records = tempfile::tempdir().expect("a folder");
    let mut recorder = going_on(records.path());
    tell(&mut recorder, &Event::Ended(&outcome(Ending::Complete)));
    let report = recorder.report().expect("finished");
    assert_eq!(report, records.path().join("quay/P4-1/run-001.csv"));
    let run = report::summary(&report).expect("ours");
    assert_eq!((run.ending, run.facts.address_found), (RunEnding::Complete, None));
    // The report and its facts file; the folder's lock is a file on some systems.
    let mut files: Vec<String> = fs::read_dir(records.path().join("quay/P4-1"))
        .expect("there")
        .map(|entry| entry.expect("there").file_name().to_string_lossy().into_owned())
        .filter(|name| name != "_lock")
        .collect();
    files.sort();
    assert_eq!(files, ["run-001.csv", "run-001.facts.json"]);
    assert_eq!(lot_rows(records.path()), [first_row("complete")]);
}

#[test]
fn a_run_that_goes_on_is_left_alone_and_a_dead_one_is_finished() {
    let records = tempfile::tempdir().expect("a folder");
    let alive = going_on(records.path());
    let other = opened(records.path());
    assert!(matches!(other.recover().expect("looked")[..], [Fate::Living(_)]));
    let journal = alive.module.journal(1);
    drop(alive);
    let fates = other.recover().expect("looked");
    let [Fate::Finished { report, run, aside: None }] = &fates[..] else { panic!("{fates:?}") };
    assert!(!journal.exists() && report.exists());
    assert_eq!((run.ending, run.reason.as_deref()), (RunEnding::CutOff, Some(recover::WHY)));
    assert_eq!((run.verdict, run.readings), (Verdict::Fail, 1));
    assert_eq!(lot_rows(records.path()), [first_row("cut_off")]);
    assert!(other.recover().expect("looked").is_empty());
}

#[test]
fn two_runs_of_one_module_get_numbers_and_files_of_their_own() {
    let records = tempfile::tempdir().expect("a folder");
    let mut one = going_on(records.path());
    let mut two = going_on(records.path());
    tell(&mut two, &Event::Ended(&outcome(Ending::Stopped)));
    tell(&mut one, &Event::Ended(&outcome(Ending::Complete)));
    assert_eq!((one.number(), two.number()), (Some(1), Some(2)));
    assert_eq!(lot_rows(records.path()).len(), 2);
}

#[test]
fn killed_between_report_and_journal_nothing_is_listed_twice() {
    let records = tempfile::tempdir().expect("a folder");
    let mut recorder = going_on(records.path());
    let journal = recorder.module.journal(1);
    let kept = fs::read(&journal).expect("there");
    tell(&mut recorder, &Event::Ended(&outcome(Ending::Complete)));
    fs::write(&journal, kept).expect("put back");
    let report = fs::read(recorder.report().expect("finished")).expect("there");
    assert!(matches!(recorder.recover().expect("looked")[..], [Fate::Finished { .. }]));
    assert_eq!(fs::read(recorder.report().expect("finished")).expect("there"), report);
    assert_eq!(lot_rows(records.path()), [first_row("complete")]);
    assert!(!journal.exists());
}

#[test]
fn a_report_that_cannot_be_written_leaves_the_journal_and_says_so() {
    let records = tempfile::tempdir().expect("a folder");
    let mut recorder = going_on(records.path());
    // A folder in the way of the part file fails for anyone, also for root.
    let in_the_way = recorder.module.path().join("run-001.csv.part");
    fs::create_dir(&in_the_way).expect("made");
    let ended = outcome(Ending::BenchTrouble("the jig does not answer".into()));
    let error = told(&mut recorder, &Event::Ended(&ended)).expect_err("must fail").to_string();
    assert!(error.contains("the readings are safe in ") && error.contains("recover"), "{error}");
    assert_eq!(recorder.report(), None);

    fs::remove_dir(&in_the_way).expect("removed");
    let fates = recorder.recover().expect("looked");
    let [Fate::Finished { run, .. }] = &fates[..] else { panic!("{fates:?}") };
    // The true reason was in the journal already.
    assert_eq!(run.ending_in_words(), "cut short: the jig does not answer");
}

#[test]
fn an_empty_journal_is_removed_and_a_strange_one_is_kept() {
    let records = tempfile::tempdir().expect("a folder");
    let recorder = opened(records.path());
    fs::write(recorder.module.journal(1), [0; 4096]).expect("written");
    fs::write(recorder.module.journal(2), "groceries").expect("written");
    let fates = recorder.recover().expect("looked");
    assert!(matches!(fates[..], [Fate::Empty(_), Fate::Stuck(_)]), "{fates:?}");
    assert_eq!(recorder.module.journals().expect("read"), [2]);
}

#[test]
fn lot_csv_is_rebuilt_when_missing_or_torn_and_refused_when_foreign() {
    let records = tempfile::tempdir().expect("a folder");
    let lot_csv = records.path().join("quay/lot.csv");
    let run = |expect: usize| {
        let mut recorder = going_on(records.path());
        tell(&mut recorder, &Event::Ended(&outcome(Ending::Complete)));
        assert_eq!(lot_rows(records.path()).len(), expect);
    };
    run(1);
    fs::remove_file(&lot_csv).expect("removed");
    run(2);
    let whole = fs::read(&lot_csv).expect("there");
    fs::write(&lot_csv, &whole[..whole.len() - 10]).expect("written");
    run(3);

    fs::write(&lot_csv, "name;price\r\n").expect("written");
    let error = Recorder::open(records.path(), labels("P4-1"), Box::new(())).expect_err("foreign");
    assert!(error.is_bad_input() && error.to_string().contains("lot.csv was not written by"));
    let folder = LotFolder::all(records.path()).expect("read").remove(0);
    assert!(recover::lot(folder).expect("looked").lot_csv.is_err());
    assert_eq!(fs::read(&lot_csv).expect("there"), b"name;price\r\n");
}

#[test]
fn reports_that_are_not_whole_are_told_and_skipped() {
    let records = tempfile::tempdir().expect("a folder");
    let mut recorder = going_on(records.path());
    tell(&mut recorder, &Event::Ended(&outcome(Ending::Complete)));
    fs::write(recorder.module.report(2), "groceries").expect("written");
    let rebuilt = lot_csv::rebuild(&recorder.lot).expect("rebuilt");
    assert_eq!((rebuilt.runs, rebuilt.skipped.len()), (1, 1));
}

/// A disk that fails some of its syncs, counted from 1.
#[derive(Debug)]
struct Failing {
    syncs: std::sync::atomic::AtomicUsize,
    fails: std::ops::RangeInclusive<usize>,
}

impl crate::record::disk::FileSystem for Failing {
    fn sync(&self, _: &fs::File, _: &Path) -> std::io::Result<()> {
        let sync = 1 + self.syncs.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        if self.fails.contains(&sync) {
            // What was written is gone, as after a real failure it may be.
            return Err(std::io::Error::other("input/output error"));
        }
        Ok(())
    }
}

/// A run of one reading on such a disk: what its step and its end were told.
fn on_failing(
    records: &Path,
    fails: std::ops::RangeInclusive<usize>,
) -> (Recorder, [Result<(), ListenError>; 2]) {
    let disk = Disk::of(Arc::new(Failing { syncs: 0.into(), fails }));
    let mut recorder =
        Recorder::open_on(&disk, records, labels("P4-1"), Box::new(())).expect("opened");
    begin(&mut recorder);
    let step = told(&mut recorder, &Event::StepEnded { index: 0 });
    let end = told(&mut recorder, &Event::Ended(&outcome(Ending::Complete)));
    (recorder, [step, end])
}

#[test]
fn what_a_failing_disk_has_not_taken_is_written_again_at_the_end() {
    let records = tempfile::tempdir().expect("a folder");
    // The first sync is the journal's beginning, the second the step's.
    let (recorder, [step, end]) = on_failing(records.path(), 2..=2);
    let step = step.expect_err("the step was not kept").to_string();
    assert!(step.ends_with("run-001.journal: input/output error"), "{step}");
    end.expect("kept after all");
    assert_eq!(recorder.durable(), 1);
    let report = report::read(&recorder.report().expect("finished")).expect("whole");
    assert_eq!(report.readings.len(), 1);
}

#[test]
fn what_a_failing_disk_never_takes_is_told_as_lost() {
    let records = tempfile::tempdir().expect("a folder");
    let (recorder, [_, end]) = on_failing(records.path(), 2..=usize::MAX);
    let Err(ListenError::Lost(why)) = end else { panic!("{end:?}") };
    assert!(why.contains("; readings that could not be kept: 1, safe in "), "{why}");
    assert_eq!((recorder.durable(), recorder.report()), (0, None));
}
