//! A jig that is not sound is refused before anything comes on.

use crate::kit::bench::{ARRIVAL, PIER, plan, run_on, setup, sheet};
use musterbench::jig::board::{Board, FeedDrive};
use musterbench::judge::reading::Verdict;
use musterbench::run::event::Ending;
use musterbench::simulated_bench::SimulatedBoard;

/// A simulated board that says of its self-test what it is told to.
struct Ailing {
    board: SimulatedBoard,
    result: u16,
    /// So long after boot it takes its first zeros; before that they are those of boot.
    quiet_us: u64,
    taken_us: u64,
}

impl Board for Ailing {
    pass_on! { board: identity, now_us, channels, set_inverted, set_soft_start_limit, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch, sample, start_scans, next_scan, stop_scans, hand }

    fn set_feed(&mut self, drive: FeedDrive) {
        assert!(drive == FeedDrive::Off || self.result == 0, "power on an unsound jig");
        self.board.set_feed(drive);
    }
    fn set_load_supply(&mut self, on: bool) {
        assert!(!on || self.result == 0, "power on an unsound jig");
        self.board.set_load_supply(on);
    }
    fn self_test(&mut self) -> u16 {
        let now_us = self.board.now_us();
        if now_us >= self.quiet_us {
            self.taken_us = now_us;
        }
        self.result
    }
    fn zeros_us(&mut self) -> u64 {
        self.taken_us
    }
}

pass_on! { jumping board of Ailing }

fn ailing(result: u16, quiet_us: u64) -> crate::kit::bench::Run {
    let board = SimulatedBoard::new(setup(&sheet(PIER), &[], 1));
    let board = Ailing { board, result, quiet_us, taken_us: 0 };
    run_on(&plan(PIER, ARRIVAL, None), board)
}

#[test]
fn a_jig_that_fails_its_self_test_is_refused_in_one_sentence() {
    for (result, words) in [(2, "(check 2, the zeros of its currents)"), (77, "(check 77)")] {
        let run = ailing(result, 0);
        let Ending::BenchTrouble(why) = &run.outcome.ending else { panic!("{}", run.text()) };
        assert!(
            why.starts_with("the jig has failed its self-test ") && why.contains(words),
            "{why}"
        );
        assert_eq!(run.readings.len(), 0);
    }
}

#[test]
fn zeros_are_waited_for_and_without_them_nothing_comes_on() {
    assert_eq!(ailing(0, 100_000).outcome.verdict, Verdict::Pass);
    let run = ailing(0, u64::MAX);
    let Ending::BenchTrouble(why) = &run.outcome.ending else { panic!("{}", run.text()) };
    assert!(why.starts_with("the jig has not taken the zeros of its currents"), "{why}");
}
