use crate::kit::bench::{JETTY, PIER, QUAY, arrival};
use musterbench::judge::reading::Verdict;
use musterbench::run::event::Ending;

#[test]
fn sound_modules_of_every_kind_pass_the_arrival_script() {
    for module in [PIER, QUAY, JETTY] {
        for seed in 1..=3 {
            let run = arrival(module, &[], seed);
            assert_eq!(run.outcome.ending, Ending::Complete, "{}", run.text());
            assert_eq!(run.outcome.verdict, Verdict::Pass, "seed {seed}: {}", run.text());
        }
    }
}
