use super::*;
use crate::measure::channel_class::ChannelClass;
use crate::measure::record::Trace;
use crate::measure::scale::{Ends, Scale};
use crate::record::example::facts;
use flate2::read::MultiGzDecoder;
use serde_json::Value;
use std::fs::File;
use std::io::Read;

/// A capture of `scans` scans that do not compress well.
fn record(scans: usize) -> Record {
    let mut state = 1_u32;
    let mut any = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 16) as i16
    };
    Record {
        first_us: 1_000,
        interval_us: 200,
        average: 1,
        trigger_us: Some(1_300),
        traces: vec![Trace {
            channel: 101,
            skew_us: 2.5,
            counts: (0..scans).map(|_| any()).collect(),
            scale: Scale { zero: 0.25, per_count: 0.5 },
            ends: Ends::NONE,
            class: ChannelClass::default(),
        }],
    }
}

fn lines(path: &Path) -> Vec<Value> {
    let mut text = String::new();
    MultiGzDecoder::new(File::open(path).expect("there")).read_to_string(&mut text).expect("gzip");
    text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect()
}

/// A run of three steps with a capture each, of which the second may not pass.
fn run(records: &Path, second: Verdict, scans: usize) -> (PathBuf, PathBuf) {
    let beside = records.join("run-003.captures.gz");
    let mut captures = Captures::new(&Disk::default(), beside.clone(), records, &facts());
    for (step, verdict) in [("one", Verdict::Pass), ("two", second), ("three", Verdict::Pass)] {
        captures.take(step, &record(scans));
        captures.judged(verdict);
        captures.end_step();
    }
    assert!(captures.end(second == Verdict::Pass).is_none());
    (beside, last_passed(records, &facts()))
}

#[test]
fn steps_that_do_not_pass_are_kept_beside_the_report() {
    for verdict in [Verdict::Fail, Verdict::Indeterminate] {
        let records = tempfile::tempdir().expect("a folder");
        let (beside, passed) = run(records.path(), verdict, 3);
        assert!(!passed.exists());
        let lines = lines(&beside);
        assert_eq!(lines.len(), 3, "{lines:?}");
        assert_eq!(lines[0]["module"], "P4-017");
        assert_eq!(lines[1]["step"], "two");
        assert_eq!(lines[1]["channels"][0]["unit"], "A");
        let counts = lines[1]["channels"][0]["counts"].as_array().expect("a list");
        let wanted = record(3).traces.remove(0).counts;
        assert_eq!(counts.iter().map(|c| c.as_i64().unwrap() as i16).collect::<Vec<_>>(), wanted);
        assert_eq!(lines[2]["left_out"], 0);
    }
}

#[test]
fn a_run_that_passes_takes_the_place_of_the_last_one_that_did() {
    let records = tempfile::tempdir().expect("a folder");
    for _ in 0..2 {
        let (beside, passed) = run(records.path(), Verdict::Pass, 3);
        assert!(!beside.exists());
        let steps: Vec<Value> = lines(&passed).iter().map(|line| line["step"].clone()).collect();
        assert_eq!(steps, [Value::Null, "one".into(), "two".into(), "three".into(), Value::Null]);
    }
}

#[test]
fn no_file_grows_beyond_its_bound_and_says_what_is_left_out() {
    let records = tempfile::tempdir().expect("a folder");
    let (_, passed) = run(records.path(), Verdict::Pass, 900_000);
    let size = std::fs::metadata(&passed).expect("there").len() as usize;
    assert!(size > MOST / 2 && size < MOST + 2_000, "{size}");
    assert_eq!(lines(&passed).last().expect("a line")["left_out"], 2);
}

/// The step that goes on when a run is cut off did not pass.
#[test]
fn a_step_that_never_ended_is_kept() {
    let records = tempfile::tempdir().expect("a folder");
    let beside = records.path().join("run-003.captures.gz");
    let mut captures = Captures::new(&Disk::default(), beside.clone(), records.path(), &facts());
    captures.take("one", &record(3));
    assert!(captures.end(false).is_none());
    assert_eq!(lines(&beside)[1]["step"], "one");
}

#[test]
fn what_cannot_be_kept_is_told_and_stops_nothing() {
    let records = tempfile::tempdir().expect("a folder");
    let beside = records.path().join("no such folder/run-003.captures.gz");
    let mut captures = Captures::new(&Disk::default(), beside, records.path(), &facts());
    for _ in 0..3 {
        captures.take("one", &record(3));
        captures.judged(Verdict::Fail);
        captures.end_step();
    }
    let why = captures.end(false).expect("told").to_string();
    assert!(why.starts_with("cannot write "), "{why}");
}
