//! Another kind of module sits on the clamps than the one that is tested: the run ends early, with its
//! sentence, and names the kind that answers.

use crate::kit::bench::{ARRIVAL, THOROUGH, plan_for, run_with, setup};
use musterbench::judge::reading::{Blame, Quantity, Verdict};
use musterbench::run::Options;
use musterbench::run::event::Ending;
use musterbench::run::unattended::Nobody;
use musterbench::script::shipped::{MODULE_SHEETS, module_sheet, other_kinds};
use musterbench::simulated_bench::SimulatedBoard;

/// Benches and modules that no other test draws.
const SEED: u64 = 4800;

/// The longest that it takes from the first question to the end, in seconds by the jig's clock.
const LONGEST_S: f64 = 25.0;

#[test]
fn every_kind_against_every_other_ends_early_and_is_named() {
    for asked in MODULE_SHEETS {
        let sheet = module_sheet(asked.name).expect("shipped");
        let kinds = other_kinds(&sheet);
        let options = Options { unattended: true, kinds, ..Options::default() };
        for (script, text) in [("arrival", ARRIVAL), ("thorough", THOROUGH)] {
            let plan = plan_for(&sheet, text, None);
            for seated in MODULE_SHEETS.iter().filter(|other| other.name != asked.name) {
                let own = module_sheet(seated.name).expect("shipped");
                let board = SimulatedBoard::new(setup(&own, &[], SEED));
                let run = run_with(&plan, board, &options, &mut Nobody);
                let what = format!("{} on {script} of {}: {}", seated.name, asked.name, run.text());
                println!(
                    "{} tested as a {} by {script}: {:.1} s",
                    seated.name, asked.name, run.seconds
                );
                let Ending::EndedEarly(why) = &run.outcome.ending else { panic!("{what}") };
                assert!(why.contains(&format!("as a {} does", seated.name)), "{what}");
                assert!(why.contains(&format!("not as a {}", asked.name)), "{what}");
                assert_eq!(run.outcome.verdict, Verdict::Fail, "{what}");
                let told = run.not_passed().filter(|r| r.quantity == Quantity::Answers).count();
                assert_eq!(told, 1, "{what}");
                assert!(run.readings.len() < 15, "{what}");
                assert!(run.seconds < LONGEST_S, "{what}");
            }
        }
    }
}

/// A faulty module of the right kind that answers like a sound one of another kind, but for how often a
/// command must be sent.
#[test]
fn one_that_wants_more_packets_is_no_module_of_another_kind() {
    for (asked, more) in [("pier-four", 3.0), ("pier-four", 4.0), ("quay-four", 4.0)] {
        let sheet = module_sheet(asked).expect("shipped");
        let kinds = other_kinds(&sheet);
        let options = Options { unattended: true, kinds, ..Options::default() };
        let bench = setup(&sheet, &[("needs-more-packets", Some(more))], SEED + 1);
        let plan = plan_for(&sheet, ARRIVAL, None);
        let run = run_with(&plan, SimulatedBoard::new(bench), &options, &mut Nobody);
        let what = format!("{asked}, {more} more: {}", run.text());
        let Ending::EndedEarly(why) = &run.outcome.ending else { panic!("{what}") };
        assert!(why.contains("answers only when a command is sent"), "{what}");
        assert_eq!(run.outcome.blame, Some(Blame::Module), "{what}");
    }
}
