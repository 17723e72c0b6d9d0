//! What a test makes of a calibration.

use super::program::{calibrate, file, read, test};
use musterbench::calibration::channel::{ChannelCalibration, Drift};
use std::collections::HashMap;
use std::path::Path;

type Row = HashMap<String, String>;

fn rows(folder: &Path, run: u32) -> Vec<Row> {
    let path = folder.join(format!("records/unsorted/P4-1/run-{run:03}.csv"));
    let mut reader = csv::Reader::from_path(path).expect("a CSV file");
    reader.deserialize().map(|row| row.expect("a row")).collect()
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().expect("a number")
}

const NAME: &str = "SIM-3 2026-01-05T09:00:00+00:00";

#[test]
fn readings_name_the_calibration_and_are_surer_for_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let without = test(folder.path(), 3, &["--json"]);
    assert_eq!(without.code, 0, "{without:?}");
    assert_eq!(calibrate(folder.path(), 3, &[]).code, 0);
    let with = test(folder.path(), 3, &["--json"]);
    assert_eq!(with.code, 0, "{with:?}");

    let (before, after) = (rows(folder.path(), 1), rows(folder.path(), 2));
    assert_eq!(before.len(), after.len());
    for (a, b) in before.iter().zip(&after) {
        let by = match a["unit"].as_str() {
            "A" | "C" => ("uncalibrated", NAME),
            "V" | "ohm" => ("uncalibrated", "uncalibrated"),
            _ => ("", ""),
        };
        assert_eq!((a["calibration"].as_str(), b["calibration"].as_str()), by, "{a:?}");
        // A current of half an ampere depends on the gain most of all.
        if a["quantity"] == "load_current" {
            let (wide, narrow) = (number(a, "uncertainty"), number(b, "uncertainty"));
            assert!(narrow < 0.4 * wide, "{narrow} and {wide}");
            let moved = (number(a, "value") - number(b, "value")).abs();
            assert!(moved > 0.0 && moved < wide + narrow, "{moved}");
        }
        // Times do not depend on it, but for the threshold in the rise of the current.
        if a["quantity"] == "gap" {
            assert!((number(a, "value") - number(b, "value")).abs() < 2e-6, "{a:?}");
        }
    }
    let first = |said: &str| -> serde_json::Value {
        serde_json::from_str(said.lines().next().expect("a line")).expect("JSON")
    };
    assert_eq!(first(&without.said)["calibration"], serde_json::Value::Null);
    let began = first(&with.said);
    assert_eq!(
        (&began["calibration"], &began["calibration_too_old"]),
        (&NAME.into(), &false.into())
    );
}

#[test]
fn a_calibration_that_is_too_old_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    assert_eq!(calibrate(folder.path(), 3, &["--channels", "1a,feed"]).code, 0);
    let mut old = read(folder.path(), 3);
    for channel in &mut old.channels {
        channel.date = "2025-10-07T09:00:00+00:00".into();
    }
    std::fs::write(file(folder.path(), 3), old.to_toml()).expect("written");
    let shipped = include_str!("../../../fixtures/scripts/arrival.toml");
    let strict = format!("calibration_max_age = \"89 days\"\n{shipped}");
    std::fs::write(folder.path().join("strict.toml"), strict).expect("written");

    let ran = test(folder.path(), 3, &["--script", "strict.toml"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(ran.told.contains("is 90 days old, and 89 days is the most"), "{}", ran.told);
    assert!(ran.said.contains("90 days old, TOO OLD"), "{}", ran.said);
    let ran = test(folder.path(), 3, &[]);
    assert_eq!(ran.told, "", "a year is allowed unless the script says otherwise");
    assert!(ran.said.contains("90 days old\n"), "{}", ran.said);

    // It drifts meanwhile: the same calibration without any drift is surer.
    let still = |c: &mut ChannelCalibration| c.drift = Drift { offset_a: 0.0, gain: 0.0 };
    old.channels.iter_mut().for_each(still);
    std::fs::write(file(folder.path(), 3), old.to_toml()).expect("written");
    assert_eq!(test(folder.path(), 3, &[]).code, 0);
    let u = |run: u32| {
        let all = rows(folder.path(), run);
        let at_1a = |r: &&Row| r["quantity"] == "idle_current";
        number(all.iter().find(at_1a).expect("a reading"), "uncertainty")
    };
    assert!(u(3) < u(2), "{} and {}", u(3), u(2));
}

#[test]
fn channels_that_are_not_in_it_stay_uncalibrated() {
    let folder = tempfile::tempdir().expect("a folder");
    assert_eq!(calibrate(folder.path(), 3, &["--channels", "1a"]).code, 0);
    assert_eq!(test(folder.path(), 3, &[]).code, 0);
    for row in rows(folder.path(), 1).iter().filter(|r| r["quantity"] == "load_current") {
        let is_1a = (row["output"].as_str(), row["position"].as_str()) == ("1", "a");
        assert_eq!(row["calibration"], if is_1a { NAME } else { "uncalibrated" });
    }
}
