//! A module that answers elsewhere than it is asked is found, and tested where it answers.

use crate::kit::bench::{
    ARRIVAL, BASIN, IN_PLACE, JETTY, PIER, QUAY, Run, plan, plan_for_any, run, setup, sheet,
};
use musterbench::judge::reading::{Blame, Quantity, Verdict};
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::source::Source;
use musterbench::run::event::Ending;

/// Names, sheets and seeds that no other test uses.
const KINDS: [(&str, &str, u64); 3] =
    [("pier", PIER, 4101), ("quay", QUAY, 4202), ("jetty", JETTY, 4303)];

fn answers(run: &Run) -> Vec<(Option<f64>, Verdict, &str)> {
    let of = run.readings.iter().filter(|r| r.quantity == Quantity::Answers);
    of.map(|r| (r.value, r.verdict, r.note.as_str())).collect()
}

#[test]
fn one_two_and_three_wrong_switches_are_one_failed_reading() {
    for (name, text, seed) in KINDS {
        for wrong in [1.0, 2.0, 3.0] {
            for more in 0..3 {
                let faults = [("switch-set-wrong", Some(wrong))];
                let run =
                    run(&plan(text, ARRIVAL, None), setup(&sheet(text), &faults, seed + more));
                let what =
                    format!("{name}, {wrong} switches, seed {}: {}", seed + more, run.text());
                // Some settings of the switches mean no address at all, or one that is not its own.
                if let Ending::EndedEarly(_) = run.outcome.ending {
                    assert_eq!(run.not_passed().count(), 1, "{what}");
                    assert_eq!(run.outcome.answers_at, None, "{what}");
                    continue;
                }
                assert_eq!(run.outcome.ending, Ending::Complete, "{what}");
                assert_eq!(run.outcome.verdict, Verdict::Fail, "{what}");
                assert_eq!(run.outcome.blame, Some(Blame::Setting), "{what}");
                let told: Vec<_> =
                    run.not_passed().map(|r| (r.quantity, r.note.as_str())).collect();
                let [(Quantity::Answers, note)] = told[..] else { panic!("{what}") };
                assert!(note.contains("wanted: with the power off, move switch"), "{what}");
                assert!(run.outcome.answers_at.is_some(), "{what}");
                assert!(run.readings.len() > 40, "{what}");
            }
        }
    }
}

#[test]
fn what_nobody_asked_for_is_recorded_and_not_judged() {
    for (name, text, seed) in KINDS {
        let sheet = sheet(text);
        let faults = [("switch-set-wrong", Some(1.0))];
        let run = run(&plan_for_any(&sheet, ARRIVAL, None), setup(&sheet, &faults, seed));
        let what = format!("{name}: {}", run.text());
        assert_eq!(run.outcome.verdict, Verdict::Pass, "{what}");
        let found = run.outcome.answers_at.expect("it answers");
        let usual = (sheet.try_address, sheet.switches.usual_format);
        assert_ne!((found.address, found.format), usual, "{what}");
        if sheet.try_inverted {
            let note = format!("it answers at {} {}", found.address, found.format);
            assert_eq!(answers(&run), [(Some(1.0), Verdict::Pass, note.as_str())], "{what}");
        }
    }
}

#[test]
fn the_wrong_format_is_one_failed_reading() {
    let run = run(&plan(PIER, ARRIVAL, None), setup(&sheet(PIER), &[("wrong-format", None)], 4400));
    assert_eq!(run.outcome.blame, Some(Blame::Setting), "{}", run.text());
    let told: Vec<_> = run.not_passed().map(|r| r.note.as_str()).collect();
    let [note] = told[..] else { panic!("{}", run.text()) };
    assert!(note.contains("trinary") && note.contains("dcc wanted"), "{note}");
}

#[test]
fn one_that_answers_nowhere_or_draws_nothing_ends_early() {
    for (name, text, seed) in KINDS {
        for (fault, words) in
            [("hard-of-hearing", "answers at no address"), ("feed-lead-off", "draws no current")]
        {
            let run = run(&plan(text, ARRIVAL, None), setup(&sheet(text), &[(fault, None)], seed));
            let what = format!("{name}, {fault}: {}", run.text());
            let Ending::EndedEarly(why) = &run.outcome.ending else { panic!("{what}") };
            assert!(why.contains(words), "{what}");
            assert_eq!(run.outcome.verdict, Verdict::Fail, "{what}");
            assert!(run.not_passed().count() <= 3, "{what}");
        }
    }
}

#[test]
fn a_feed_that_trips_ends_early() {
    let script = ARRIVAL.replace("{ measure = \"hook-up\" },", "");
    for (name, text, seed) in KINDS {
        let faults = [("rectifier-shorted", None)];
        let run = run(&plan(text, &script, None), setup(&sheet(text), &faults, seed));
        let what = format!("{name}: {}", run.text());
        let Ending::EndedEarly(why) = &run.outcome.ending else { panic!("{what}") };
        assert!(why.contains("the feed trips"), "{what}");
        assert!(run.not_passed().count() <= 3, "{what}");
    }
}

/// Nobody said yes, so nothing but this module is asked to move.
#[test]
fn in_place_nothing_is_searched_without_a_yes() {
    let loads = LoadSheet::parse(&Source::new("loads.toml", BASIN)).unwrap();
    let plan = plan(PIER, IN_PLACE, Some(&loads));
    let faults =
        vec![(musterbench::simulated_bench::faults::find("switch-set-wrong").unwrap(), 1.0)];
    let set_up = simulated::setup(&sheet(PIER), Some(&loads), faults, 4500);
    let run = run(&plan, set_up);
    let Ending::EndedEarly(why) = &run.outcome.ending else { panic!("{}", run.text()) };
    assert!(why.contains("does not answer at") && why.contains("nowhere else"), "{why}");
    assert_eq!(run.outcome.blame, Some(Blame::Unsure), "{}", run.text());
}

#[test]
fn a_search_that_finds_nothing_ends_within_minutes() {
    for (name, text, seed) in KINDS {
        let faults = [("hard-of-hearing", Some(1.0))];
        let run = run(&plan(text, ARRIVAL, None), setup(&sheet(text), &faults, seed));
        assert!(run.seconds < 240.0, "{name}: {} s", run.seconds);
    }
}
