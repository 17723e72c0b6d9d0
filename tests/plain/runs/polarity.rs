//! The feed one way round and the other.

use super::watched::watched;
use crate::kit::bench::{ARRIVAL, JETTY, PIER, QUAY, Run, arrival, plan, run, setup, sheet};
use musterbench::judge::reading::{Blame, Quantity, Verdict};
use musterbench::run::event::Ending;

/// Value and verdict of what was read of a quantity.
fn read(run: &Run, quantity: Quantity) -> Vec<(Option<f64>, Verdict)> {
    let of = run.readings.iter().filter(|r| r.quantity == quantity);
    of.map(|r| (r.value, r.verdict)).collect()
}

#[test]
fn a_sound_module_answers_as_its_sheet_says() {
    for (module, inverted) in [(PIER, 0.0), (JETTY, 0.0), (QUAY, 1.0)] {
        let run = arrival(module, &[], 5);
        assert_eq!(read(&run, Quantity::Answers), [(Some(1.0), Verdict::Pass)], "{}", run.text());
        let found = read(&run, Quantity::AnswersInverted);
        assert_eq!(found, [(Some(inverted), Verdict::Pass)], "{}", run.text());
    }
}

#[test]
fn swapped_feed_wires_end_the_run_with_one_sentence() {
    for module in [PIER, JETTY] {
        for seed in 1..=4 {
            let run = arrival(module, &[("feed-wires-swapped", None)], seed);
            let Ending::EndedEarly(why) = &run.outcome.ending else { panic!("{}", run.text()) };
            assert!(why.contains("swap the two feed wires"), "{why}");
            assert_eq!(run.outcome.verdict, Verdict::Fail, "{}", run.text());
            assert_eq!(run.outcome.blame, Some(Blame::Setting), "{}", run.text());
            let told: Vec<_> = run.not_passed().map(|r| (r.quantity, r.note.as_str())).collect();
            let [(Quantity::Answers, note)] = told[..] else { panic!("{}", run.text()) };
            assert!(note.contains("swap the two feed wires at the module"), "{note}");
        }
    }
}

/// A module that answers both ways round though its sheet says one way only, and the other way
/// about: the sheet is wrong, or the module is of another kind.
#[test]
fn a_module_that_answers_otherwise_than_its_sheet_says_fails() {
    for (text, says, value) in
        [(QUAY, "polarity_matters = true", 1.0), (PIER, "polarity_matters = false", 0.0)]
    {
        let other = if says.ends_with("true") {
            says.replace("true", "false")
        } else {
            says.replace("false", "true")
        };
        assert!(text.contains(&other));
        let plan = plan(&text.replace(&other, says), ARRIVAL, None);
        let run = run(&plan, setup(&sheet(text), &[], 2));
        let found = read(&run, Quantity::AnswersInverted);
        assert_eq!(found, [(Some(value), Verdict::Fail)], "{}", run.text());
        assert_eq!(run.outcome.blame, Some(Blame::Module), "{}", run.text());
    }
}

#[test]
fn a_kind_that_could_be_hurt_is_never_tried_the_wrong_way_round() {
    let text =
        PIER.replace("polarity_matters = true", "polarity_matters = true\ntry_inverted = false");
    let plan = plan(&text, ARRIVAL, None);
    for faults in [&[][..], &[("feed-wires-swapped", None)], &[("switch-set-wrong", None)]] {
        let (run, done) = watched(&plan, setup(&sheet(&text), faults, 1));
        let is_nowhere = matches!(run.outcome.ending, Ending::EndedEarly(_));
        assert_eq!(
            is_nowhere,
            faults.iter().any(|f| f.0 == "feed-wires-swapped"),
            "{}",
            run.text()
        );
        assert_eq!(run.outcome.verdict == Verdict::Pass, faults.is_empty(), "{}", run.text());
        assert!(done.fed && !done.fed_inverted, "{faults:?}: {done:?}");
    }
}
