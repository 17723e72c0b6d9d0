//! A bench on which somebody notes what the jig did to the module.

use crate::kit::bench::{Run, run_on};
use musterbench::jig::board::{Board, FeedDrive};
use musterbench::link::simulated::JumpingBoard;
use musterbench::script::plan::Plan;
use musterbench::simulated_bench::{Setup, SimulatedBoard};
use std::cell::RefCell;
use std::rc::Rc;

/// What was done to the module.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Done {
    /// The feed was on, if only behind the current limit.
    pub fed: bool,
    /// The feed was on with its wires swapped by the jig.
    pub fed_inverted: bool,
    /// The load supply was on.
    pub loaded: bool,
    /// The highest feed current, amperes.
    pub feed_a: f64,
}

struct Watched {
    board: SimulatedBoard,
    inverted: bool,
    done: Rc<RefCell<Done>>,
}

impl JumpingBoard for Watched {
    fn advance_to(&mut self, t_us: u64) {
        self.board.advance_to(t_us);
        let feed_a = self.board.world().feed.feed_a();
        let mut done = self.done.borrow_mut();
        done.feed_a = done.feed_a.max(feed_a);
    }
}

impl Board for Watched {
    pass_on! { board: identity, now_us, channels, set_soft_start_limit, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch, sample, start_scans, next_scan, stop_scans, self_test, hand }

    fn set_feed(&mut self, drive: FeedDrive) {
        let is_on = drive != FeedDrive::Off;
        let mut done = self.done.borrow_mut();
        done.fed |= is_on;
        done.fed_inverted |= is_on && self.inverted;
        self.board.set_feed(drive);
    }
    fn set_inverted(&mut self, inverted: bool) {
        self.inverted = inverted;
        self.board.set_inverted(inverted);
    }
    fn set_load_supply(&mut self, on: bool) {
        self.done.borrow_mut().loaded |= on;
        self.board.set_load_supply(on);
    }
}

/// A run, and what was done in it.
pub fn watched(plan: &Plan, setup: Setup) -> (Run, Done) {
    let done = Rc::new(RefCell::new(Done::default()));
    let board =
        Watched { board: SimulatedBoard::new(setup), inverted: false, done: Rc::clone(&done) };
    let run = run_on(plan, board);
    let done = done.borrow().clone();
    (run, done)
}
