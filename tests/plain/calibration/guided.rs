//! The guided command, with what an operator types.

use super::program::{calibrate, file, read};
use crate::prompts::terminal::Terminal;
use std::path::Path;

const THREE: &str = "100 ohm,47 ohm,22 ohm";

/// An operator at the simulated bench, who answers each question in turn; an empty line takes what
/// its meter shows. Gives the exit code and all that was said.
fn attended(folder: &Path, arguments: &[&str], answers: &[&str]) -> (u32, String) {
    let mut all = vec!["calibrate", "--port", "simulated", "--resistors", THREE, "--channels"];
    all.extend(arguments);
    let mut person = Terminal::start(folder, &all);
    for answer in answers {
        person.hears("and Enter to stop");
        person.pauses();
        person.types(&format!("{answer}\n"));
    }
    (person.ends(), person.text())
}

#[test]
fn every_channel_gets_its_line_and_the_file_says_simulated() {
    let folder = tempfile::tempdir().expect("a folder");
    let ran = calibrate(folder.path(), 7, &["--operator", "Mette"]);
    assert_eq!((ran.code, ran.told.as_str()), (0, ""), "{ran:?}");
    assert!(ran.said.ends_with("SIMULATED: jig SIM-7: calibration/SIM-7.toml\n"), "{}", ran.said);
    let found = read(folder.path(), 7);
    assert!(found.simulated);
    let channels: Vec<u16> = found.channels.iter().map(|c| c.channel).collect();
    assert_eq!(channels, [2, 4, 101, 102, 103, 104, 105, 106, 107, 108]);
    for channel in &found.channels {
        assert_eq!((channel.points.len(), channel.operator.as_str()), (6, "Mette"));
        assert!(channel.points[0].is_zero());
    }
}

#[test]
fn the_same_seed_gives_the_same_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let bytes = |place: &str| {
        let ran = calibrate(folder.path(), 5, &["--channels", "feed,2b", "--calibration", place]);
        assert_eq!(ran.code, 0, "{ran:?}");
        std::fs::read(folder.path().join(place).join("SIM-5.toml")).expect("a file")
    };
    assert_eq!(bytes("one"), bytes("two"));
}

#[test]
fn an_operator_types_what_the_meter_shows() {
    let folder = tempfile::tempdir().expect("a folder");
    // Begin; connect, a slip, then as shown; connect, as shown; connect, as shown.
    let answers = ["", "", "half an ampere", "", "", "", "", ""];
    let (code, said) = attended(folder.path(), &["1b"], &answers);
    assert_eq!(code, 0, "{said}");
    for told in [
        "Extra-low voltage only, never mains.",
        "disconnect all real loads",
        "connect about 100 Ω, 3 W or more,",
        "SIMULATED: the reference meter shows",
        "type what the meter shows, with its unit, such as \"512.3 mA\": a number is wanted",
    ] {
        assert!(said.contains(told), "{told}: {said}");
    }
    assert_eq!(read(folder.path(), 1).channels.len(), 1);
}

#[test]
fn what_is_far_off_is_asked_again_and_refused_when_it_stays() {
    let folder = tempfile::tempdir().expect("a folder");
    let answers = ["", "", "", "", "2.547 A", "2.547 A", "", ""];
    let (code, said) = attended(folder.path(), &["1b"], &answers);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("much farther apart than this jig can be off"), "{said}");
    assert!(said.contains("Clamp 1b (channel 102): REFUSED. Points 1 and 3 contradict"), "{said}");
    assert!(read(folder.path(), 1).channels.is_empty());
}

#[test]
fn what_is_done_before_the_operator_stops_is_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let (code, said) = attended(folder.path(), &["1a,1b"], &["", "", "", "", "", "", "", "", "q"]);
    assert_eq!(code, 5, "{said}");
    assert!(said.ends_with("musterbench: stopped; everything is off"), "{said}");
    let channels: Vec<u16> = read(folder.path(), 1).channels.iter().map(|c| c.channel).collect();
    assert_eq!(channels, [101]);
}

#[test]
fn other_channels_keep_their_calibration_and_the_earlier_file_is_kept_aside() {
    let folder = tempfile::tempdir().expect("a folder");
    assert_eq!(calibrate(folder.path(), 9, &["--channels", "1a"]).code, 0);
    let earlier = std::fs::read(file(folder.path(), 9)).expect("a file");
    let ran = calibrate(folder.path(), 9, &["--channels", "3b,feed", "--json"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    let channels: Vec<u16> = read(folder.path(), 9).channels.iter().map(|c| c.channel).collect();
    assert_eq!(channels, [2, 101, 106]);
    let aside = folder.path().join("calibration/SIM-9.before-2026-01-05T09%3A00%3A00+00%3A00.toml");
    assert_eq!(std::fs::read(aside).expect("kept aside"), earlier);
    for line in ran.said.lines() {
        let object: serde_json::Value = serde_json::from_str(line).expect("JSON");
        assert_eq!(object["simulated"], true, "{line}");
    }
    assert_eq!(ran.said.lines().count(), 3);
}

#[test]
fn a_resistor_that_draws_more_than_a_clamp_may_is_left_out() {
    let folder = tempfile::tempdir().expect("a folder");
    let few = ["--channels", "1a", "--resistors", "4.4 ohm,47 ohm,100 ohm"];
    let ran = calibrate(folder.path(), 1, &few);
    assert_eq!(ran.code, 1, "{ran:?}");
    assert!(ran.told.contains("trips with this resistor: left out. Connect a larger"), "{ran:?}");
    assert!(ran.said.contains("REFUSED. It has 3 points and needs 4"), "{}", ran.said);
}
