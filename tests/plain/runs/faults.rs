//! Faults are found, and blamed on the right one.

use crate::kit::bench::{
    ARRIVAL, BASIN, CRANE, JETTY, PIER, QUAY, Run, arrival, in_place, plan, run, setup, sheet,
};
use musterbench::judge::reading::{Blame, Quantity, Verdict};
use musterbench::run::event::Ending;

fn fails(run: &Run, blame: Blame) {
    let ending = &run.outcome.ending;
    assert!(matches!(ending, Ending::Complete | Ending::EndedEarly(_)), "{}", run.text());
    assert_eq!(run.outcome.verdict, Verdict::Fail, "{}", run.text());
    assert_eq!(run.outcome.blame, Some(blame), "{}", run.text());
}

/// Quantities of which at least one reading does not pass.
fn quantities(run: &Run) -> Vec<Quantity> {
    let mut found: Vec<Quantity> = run.not_passed().map(|r| r.quantity).collect();
    found.sort_unstable_by_key(|q| q.name());
    found.dedup();
    found
}

#[test]
fn a_burnt_contact_shows_as_its_resistance_and_nothing_else_but_the_current() {
    let run = arrival(QUAY, &[("contact-burnt", Some(0.5))], 4);
    fails(&run, Blame::Module);
    assert_eq!(quantities(&run), [Quantity::ContactResistance], "{}", run.text());
    for reading in run.not_passed().filter(|r| r.verdict == Verdict::Fail) {
        // Half an ohm more than a sound contact with its leads.
        let excess = reading.value.unwrap() - 0.5;
        assert!((0.02..0.2).contains(&excess), "{}", run.text());
    }
}

#[test]
fn a_loose_lead_is_no_burnt_contact() {
    fails(&arrival(QUAY, &[("clamp-lead-loose", None)], 4), Blame::Lead);
}

#[test]
fn an_overlap_is_a_negative_gap_of_its_length() {
    let run = arrival(PIER, &[("contacts-overlap", Some(0.004))], 2);
    fails(&run, Blame::Module);
    let worst = run.not_passed().filter_map(|r| r.value).fold(f64::INFINITY, f64::min);
    // The bench spreads it by 2 % from one operation to the next.
    assert!((worst + 0.004).abs() < 0.0005, "{}", run.text());
}

#[test]
fn what_is_set_wrongly_is_a_setting_and_the_note_says_where_it_answers() {
    for fault in ["switch-set-wrong", "one-group-away"] {
        let run = arrival(PIER, &[(fault, None)], 3);
        fails(&run, Blame::Setting);
        assert!(run.not_passed().any(|r| r.note.contains("181 dcc wanted")), "{}", run.text());
    }
    let run = arrival(PIER, &[("wrong-format", None)], 3);
    fails(&run, Blame::Setting);
    assert!(
        run.not_passed().any(|r| r.note.contains("181 trinary, 181 dcc wanted")),
        "{}",
        run.text()
    );
    let run = arrival(JETTY, &[("feed-wires-swapped", None)], 3);
    fails(&run, Blame::Setting);
    assert!(run.not_passed().any(|r| r.note.contains("other way round")), "{}", run.text());
}

#[test]
fn the_slider_is_told_from_a_high_idle_current() {
    let left_on = arrival(JETTY, &[("auxiliary-left-on", None)], 1);
    fails(&left_on, Blame::Setting);
    // By about as much as the auxiliary supply draws.
    let high = arrival(JETTY, &[("high-idle-current", Some(0.014))], 1);
    fails(&high, Blame::Module);
    assert_eq!(quantities(&high), [Quantity::IdleCurrent], "{}", high.text());
}

#[test]
fn leads_off_are_leads() {
    for fault in ["common-lead-off", "feed-lead-off", "weak-feed", "output-leads-swapped"] {
        fails(&arrival(QUAY, &[(fault, None)], 2), Blame::Lead);
    }
}

#[test]
fn the_jig_is_blamed_for_its_own() {
    for fault in ["jig-load-open", "jig-load-drifted", "load-supply-low", "feed-supply-low"] {
        fails(&arrival(JETTY, &[(fault, None)], 2), Blame::Jig);
    }
    // Each time that power comes it fills in too little charge; that is the supply's too.
    fails(&arrival(PIER, &[("feed-supply-low", None)], 1), Blame::Jig);
}

#[test]
fn a_short_in_the_module_trips_the_feed_and_ends_the_run() {
    // With the hook-up measured first, the run would end before power.
    let script = ARRIVAL.replace("{ measure = \"hook-up\" },", "");
    let plan = plan(PIER, &script, None);
    let run = run(&plan, setup(&sheet(PIER), &[("rectifier-shorted", None)], 1));
    fails(&run, Blame::Module);
    assert!(run.not_passed().any(|r| r.note.contains("tripped")), "{}", run.text());
    assert_eq!(quantities(&run), [Quantity::StartCharge], "{}", run.text());
}

#[test]
fn real_loads_are_blamed_for_their_own_faults() {
    for (loads, fault) in [
        (BASIN, "load-open"),
        (CRANE, "load-open"),
        (CRANE, "load-wrong-value"),
        (CRANE, "load-shorted"),
    ] {
        for seed in 1..=2 {
            fails(&in_place(QUAY, loads, &[(fault, None)], seed), Blame::Load);
        }
    }
}

#[test]
fn a_lamp_that_shows_nothing_is_an_open_question() {
    let sheet = QUAY.replace("current = \"4 to 9.2 mA\"", "");
    assert_ne!(sheet, QUAY);
    let run = arrival(&sheet, &[("lamp-dead", None)], 1);
    assert_eq!(run.outcome.verdict, Verdict::Indeterminate, "{}", run.text());
    assert_eq!(quantities(&run), [Quantity::LampDuty, Quantity::LampRate]);
}

/// Where the sheet says what the lamp draws, too little is told, and nothing is no question.
#[test]
fn a_lamp_that_draws_too_little_fails() {
    for kind in [PIER, QUAY, JETTY] {
        for (share, seed) in [(0.5, 3), (0.7, 4), (0.9, 5), (0.97, 6), (1.0, 7)] {
            let run = arrival(kind, &[("lamp-dead", Some(share))], seed);
            fails(&run, Blame::Module);
            assert!(quantities(&run).contains(&Quantity::LampCurrent), "{share}: {}", run.text());
        }
    }
}
