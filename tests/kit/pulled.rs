//! A bench whose module somebody pulls out.

use musterbench::jig::board::Board;
use musterbench::jig::hand::{Hand, HandAct};
use musterbench::simulated_bench::SimulatedBoard;

/// A bench whose module somebody pulls out.
pub struct Pulled {
    pub board: SimulatedBoard,
    /// When, by the jig's clock.
    pub at_us: u64,
}

pass_on! { jumping board of Pulled }

impl Board for Pulled {
    pass_on! { board: identity, channels, set_feed, set_inverted, set_soft_start_limit, set_load_supply, drive, drive_end_us, drive_clear, rest, set_switch, sample, cut_off, clear_cut_off, start_scans, next_scan, stop_scans, self_test, hand }

    fn now_us(&mut self) -> u64 {
        let now_us = self.board.now_us();
        if now_us >= self.at_us {
            self.at_us = u64::MAX;
            self.board.act(HandAct::Module(false)).expect("a hand");
        }
        now_us
    }
}
