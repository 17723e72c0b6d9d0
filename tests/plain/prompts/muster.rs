//! `muster`: the modules of a lot at a terminal, by keys and by a scanner.

use super::terminal::Terminal;
use crate::kit::program::{complaint, musterbench, rows};
use musterbench::report::muster_screen;
use std::path::Path;

fn open(folder: &Path, count: &str, more: &[&str]) {
    let mut command = musterbench(folder);
    command.args(["lot", "open", "spring", "--count", count, "--serial", "pier-{}"]).args(more);
    assert_eq!(complaint(&command.output().expect("it starts")), (0, String::new()));
}

fn muster(folder: &Path, more: &[&str]) -> Terminal {
    let all = ["muster", "spring", "--port", "simulated", "--operator", "Ines"];
    Terminal::start(folder, &[&all[..], more].concat())
}

fn fates(folder: &Path) -> Vec<String> {
    let rows = rows(&folder.join("records/spring/modules.csv"));
    rows.iter().map(|row| row["fate"].clone()).collect()
}

#[test]
fn a_lot_goes_through_with_enter_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    open(folder, "4", &[]);
    let mut person = muster(folder, &["--with", "pier-02=output-stuck"]);
    for ready in ["seat pier-01,", "seat pier-02,", "seat pier-02 again", "seat pier-03,"] {
        person.hears(ready);
        // The keys are listened to.
        person.hears("Enter start");
        // Pressed twice, it starts once.
        person.types("\n\n");
    }
    person.hears("seat pier-04,");
    person.hears("Enter start");
    let screen = person.screen();
    assert!(screen.iter().filter(|row| !row.is_empty()).count() <= muster_screen::ROWS);
    insta::assert_snapshot!(screen.join("\n").trim_end());
    person.types("\r");
    assert_eq!(person.ends(), 0, "{}", person.everything());
    assert!(person.text().contains("5 seatings"), "{}", person.everything());
    assert_eq!(fates(folder), ["accepted", "rejected", "accepted", "accepted"]);
}

#[test]
fn scans_choose_and_keys_decide_and_it_goes_on_where_it_stopped() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    open(folder, "3", &[]);
    let mut person = muster(folder, &[]);
    person.hears("seat pier-01,");
    person.hears("Enter start");
    // Nothing was tested, so nothing is rejected; two keys at once are none.
    person.types("x");
    person.hears("No module was tested yet.");
    person.hears("Enter start");
    person.types("xy");
    person.hears("That was no key of these.");
    person.hears("Enter start");
    for (scan, told) in [
        ("crane-9\n", "crane-9 is no module of the lot spring"),
        ("autumn/pier-01\n", "is of another lot"),
        ("pier-03\r\n", "seat pier-03,"),
    ] {
        person.types(scan);
        person.hears(told);
        person.hears("Enter start");
    }
    person.types("\n");
    person.hears("1 of 3 done");
    person.hears("Enter start");
    person.types("spring/pier-03\n");
    person.hears("pier-03 is accepted already: test it again?");
    // A scan is no answer.
    person.types("pier-01\n");
    person.pauses();
    person.types("n");
    person.hears("seat pier-01,");
    person.hears("Enter start");

    person.types("h");
    person.hears("Put on hold pier-03. Why");
    person.pauses();
    person.types("cracked housing\n");
    person.hears("cracked housing?");
    person.types("y");
    person.hears("pier-03: on hold.");
    person.hears("Enter start");
    person.types("q");
    assert_eq!(person.ends(), 5, "{}", person.everything());
    assert_eq!(fates(folder), ["waiting", "waiting", "on hold"]);

    let mut person = muster(folder, &[]);
    for _ in 0..2 {
        person.hears("READY");
        person.hears("Enter start");
        person.types("\n");
    }
    assert_eq!(person.ends(), 0, "{}", person.everything());
    assert_eq!(fates(folder), ["accepted", "accepted", "on hold"]);
}

#[test]
fn a_bench_whose_good_module_fails_does_not_begin() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    open(folder, "1", &["--reference", "pier-known"]);
    let mut person = muster(folder, &["--fault", "load-supply-low=6"]);
    person.hears("seat pier-known");
    person.pauses();
    person.types("\n");
    person.hears("is known to be good and does not pass");
    assert_eq!(person.ends(), 4, "{}", person.everything());
    assert_eq!(fates(folder), ["waiting"]);
}

#[test]
fn two_musters_share_a_lot_and_take_no_module_twice() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    open(folder, "6", &[]);
    let finish = |mut person: Terminal| {
        while person.hears_one_of(&["Enter start", "an hour", "accepted: "]) == 0 {
            person.types("\n");
        }
        assert_eq!(person.ends(), 0, "{}", person.everything());
    };
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| finish(muster(folder, &[])));
        }
    });
    let rows = rows(&folder.join("records/spring/modules.csv"));
    assert!(rows.iter().all(|row| row["fate"] == "accepted" && row["tries"] == "1"), "{rows:?}");
}

#[test]
fn practice_tells_what_it_was_and_keeps_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    // The points of whoever always presses the same keys, on the same modules.
    let points = |keys: [&str; 8]| {
        let mut person = Terminal::start(folder.path(), &["muster", "--practice", "--seed", "3"]);
        for key in keys {
            person.hears("q stop");
            person.types(key);
            person.hears("It was ");
            person.hears("Press Enter to go on.");
            person.pauses();
            person.types("\n");
        }
        assert_eq!(person.ends(), 0, "{}", person.everything());
        let text = person.text();
        let (_, rest) = text.rsplit_once("SIMULATED practice: ").expect("a score");
        rest.split(' ').next().and_then(|points| points.parse::<u32>().ok()).expect("points")
    };
    let (accepts, holds) = std::thread::scope(|scope| {
        let accepts = scope.spawn(|| points(["\n"; 8]));
        let holds = scope.spawn(|| points(["h"; 8]));
        (accepts.join().expect("played"), holds.join().expect("played"))
    });
    assert_eq!(holds, 8, "aside does no harm, and is never right");
    assert!(accepts < 16 && accepts % 2 == 0, "some are faulty: {accepts}");
    assert_eq!(std::fs::read_dir(folder.path()).expect("there").count(), 0);
}

#[test]
fn without_a_terminal_nobody_is_asked() {
    let folder = tempfile::tempdir().expect("a folder");
    open(folder.path(), "1", &[]);
    let mut command = musterbench(folder.path());
    command.args(["muster", "spring", "--port", "simulated", "--operator", "Ines"]);
    let (code, text) = complaint(&command.output().expect("it starts"));
    assert_eq!(code, 2);
    assert!(text.contains("no terminal to ask at"), "{text}");
}
