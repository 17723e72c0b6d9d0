//! The in-place script on the real loads: the expected currents (closed forms) against those that
//! the bench integrates.

use crate::kit::bench::{JETTY, PIER, QUAY, plan, run, sheet};
use musterbench::judge::reading::Verdict;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::run::event::Ending;
use musterbench::script::shipped;

const IN_PLACE: &str = include_str!("../../../fixtures/scripts/in-place.toml");

#[test]
fn sound_modules_pass_in_place_on_every_load_sheet() {
    for module in [PIER, QUAY, JETTY] {
        for loads in shipped::LOAD_SHEETS {
            let loads = shipped::load_sheet(loads.name).unwrap();
            let plan = plan(module, IN_PLACE, Some(&loads));
            for seed in 1..=2 {
                let setup = simulated::setup(&sheet(module), Some(&loads), Vec::new(), seed);
                let run = run(&plan, setup);
                let text = format!("{}: seed {seed}: {}", loads.title, run.text());
                assert_eq!(run.outcome.ending, Ending::Complete, "{text}");
                assert_eq!(run.outcome.verdict, Verdict::Pass, "{text}");
            }
        }
    }
}
