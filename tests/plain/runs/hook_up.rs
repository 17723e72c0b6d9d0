//! What is joined though it must be apart is told before power, and nothing gets hot.

use super::watched::{Done, watched};
use crate::kit::bench::{ARRIVAL, PIER, QUAY, plan, run, setup, sheet};
use musterbench::judge::reading::{Blame, Quantity, Verdict};
use musterbench::run::event::Ending;

#[test]
fn a_shorted_hook_up_is_told_in_one_sentence_and_never_gets_power() {
    for (fault, quantity, blame, words) in [
        ("rectifier-shorted", Quantity::FeedResistance, Blame::Module, "a short between the feed"),
        ("feed-touches-common", Quantity::FeedToCommons, Blame::Lead, "touches a common"),
        ("commons-touch", Quantity::CommonToCommon, Blame::Lead, "two commons touch"),
    ] {
        for seed in 1..=5 {
            let plan = plan(PIER, ARRIVAL, None);
            let (run, done) = watched(&plan, setup(&sheet(PIER), &[(fault, None)], seed));
            assert!(matches!(run.outcome.ending, Ending::EndedEarly(_)), "{}", run.text());
            assert_eq!(run.outcome.verdict, Verdict::Fail, "{}", run.text());
            assert_eq!(run.outcome.blame, Some(blame), "{}", run.text());
            let [told] = run.not_passed().collect::<Vec<_>>()[..] else { panic!("{}", run.text()) };
            assert_eq!(told.quantity, quantity);
            assert!(told.note.contains(words) && told.note.contains("leave the power off"));
            // Neither supply was ever on: all that could flow is the 10 mA of the ohmmeter.
            assert_eq!(done, Done::default(), "{fault}");
            assert!(run.seconds < 1.0, "{}", run.text());
        }
    }
}

/// Two wires between the floating supplies make a short of the feed.
#[test]
fn both_feed_wires_at_the_commons_are_a_short_of_the_feed_too() {
    let faults = [("feed-touches-common", Some(1.0)), ("feed-touches-common", Some(2.0))];
    let plan = plan(PIER, ARRIVAL, None);
    let mut shorts = 0;
    for seed in 1..=12 {
        let run = run(&plan, setup(&sheet(PIER), &faults, seed));
        let told: Vec<Quantity> = run.not_passed().map(|r| r.quantity).collect();
        assert!(told.contains(&Quantity::FeedToCommons), "{}", run.text());
        shorts += u32::from(told.contains(&Quantity::FeedResistance));
    }
    assert!((1..12).contains(&shorts), "chance puts some on one wire and some on both: {shorts}");
}

/// A leak far above the limit does no harm, and just below it is not let pass.
#[test]
fn the_sheets_limit_decides() {
    let default = plan(QUAY, ARRIVAL, None);
    let lower =
        QUAY.replace("polarity_matters", "to_commons = \"at least 1 kohm\"\npolarity_matters");
    let careless = QUAY.replace("polarity_matters", "to_commons = \"any\"\npolarity_matters");
    for (plan, ohm, verdict) in [
        (&default, 20_000.0, Verdict::Pass),
        (&default, 5_000.0, Verdict::Fail),
        (&plan(&lower, ARRIVAL, None), 5_000.0, Verdict::Pass),
        (&plan(&careless, ARRIVAL, None), 0.5, Verdict::Pass),
    ] {
        let run = run(plan, setup(&sheet(QUAY), &[("feed-touches-common", Some(ohm))], 3));
        assert_eq!(run.outcome.verdict, verdict, "{ohm}: {}", run.text());
    }
}
