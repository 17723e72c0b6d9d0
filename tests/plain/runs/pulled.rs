//! A module that is pulled out while it is tested: the feed goes off, and the run is none.

use crate::kit::bench::{JETTY, PIER, QUAY, plan_for_any, run_with, setup, sheet};
use crate::kit::pulled::Pulled;
use musterbench::judge::reading::Verdict;
use musterbench::run::Options;
use musterbench::run::event::Ending;
use musterbench::run::unattended::Nobody;
use musterbench::simulated_bench::SimulatedBoard;

const MUSTER: &str = include_str!("../../../fixtures/scripts/muster.toml");

#[test]
fn a_pulled_module_stops_its_run_whenever_it_is_pulled() {
    let options = Options { watches_seat: true, unattended: true, ..Options::default() };
    for module in [PIER, QUAY, JETTY] {
        let plan = plan_for_any(&sheet(module), MUSTER, None);
        let (mut stopped, mut runs) = (0, 0);
        let planned_ms = plan.duration().as_millis() as u64;
        for at_ms in (300..planned_ms).step_by(1_900) {
            let board = Pulled {
                board: SimulatedBoard::new(setup(&sheet(module), &[], at_ms)),
                at_us: at_ms * 1000,
            };
            let run = run_with(&plan, board, &options, &mut Nobody);
            let is_stopped = run.outcome.ending == Ending::Stopped;
            // Pulled after the last reading it has passed.
            let passes = run.outcome.verdict == Verdict::Pass;
            assert!(is_stopped || passes, "{} at {at_ms} ms: {}", plan.module.kind, run.text());
            stopped += u32::from(is_stopped);
            runs += 1;
            if is_stopped {
                let after_s = run.seconds - at_ms as f64 / 1e3;
                assert!(after_s < 12.0, "{after_s} s later: {}", run.text());
            }
        }
        assert!(stopped * 10 >= runs * 8, "{}: {stopped} of {runs}", plan.module.kind);
    }
}

#[test]
fn a_sound_module_and_a_dead_one_are_judged_as_ever() {
    for module in [PIER, QUAY, JETTY] {
        let plan = plan_for_any(&sheet(module), MUSTER, None);
        for faults in [
            &[][..],
            &[("output-stuck", None)],
            &[("controller-dead", None)],
            &[("feed-lead-off", None)],
        ] {
            let of = |watches_seat| {
                let options = Options { watches_seat, unattended: true, ..Options::default() };
                let board = SimulatedBoard::new(setup(&sheet(module), faults, 5));
                run_with(&plan, board, &options, &mut Nobody)
            };
            let (watched, plain) = (of(true), of(false));
            assert_eq!(watched.outcome.verdict, plain.outcome.verdict, "{}", watched.text());
            assert_eq!(watched.outcome.ending, plain.outcome.ending, "{}", watched.text());
            assert_eq!(watched.outcome.blame, plain.outcome.blame, "{}", watched.text());
        }
    }
}
