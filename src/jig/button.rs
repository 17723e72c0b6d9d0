//! The start button or foot switch: which presses count.
//!
//! It is looked at only for a while after each question, so that nobody who does not ask pays for it. A press
//! counts once the button was seen released for a while and then pressed for a while: contacts that bounce,
//! and a foot that stands on the switch, make none.

use super::board::Board;
use crate::wire::answers;
use crate::wire::channel::START_BUTTON;

/// So often it is looked at, in microseconds.
const LOOK_US: u64 = 5_000;
/// A state counts that has lasted so long, in microseconds: contacts of buttons and foot switches bounce for up to
/// about 10 ms (common practice, no source).
const STEADY_US: u64 = 30_000;
/// It is looked at for so long after a question, in microseconds.
const WATCHED_US: u64 = 2_000_000;

/// The button.
#[derive(Debug)]
pub struct Button {
    watched_until_us: u64,
    look_us: u64,
    /// How it was last seen, and since when.
    is_down: bool,
    since_us: u64,
    /// How it has been for long enough; `None`: not known yet.
    steady: Option<bool>,
    presses: u32,
    last_us: u64,
}

impl Button {
    /// Nobody asks for it yet.
    pub const fn new() -> Self {
        Button {
            watched_until_us: 0,
            look_us: u64::MAX,
            is_down: false,
            since_us: 0,
            steady: None,
            presses: 0,
            last_us: 0,
        }
    }

    /// Somebody asks for it: it is watched from now on.
    pub fn ask<B: Board>(&mut self, now_us: u64, board: &mut B) -> answers::Button {
        if now_us >= self.watched_until_us {
            // What was before nobody has seen: a button that is down now has been so for who knows how long.
            self.steady = None;
            self.is_down = board.sample(START_BUTTON) != 0;
            self.since_us = now_us;
            self.look_us = now_us + LOOK_US;
        }
        self.watched_until_us = now_us + WATCHED_US;
        self.poll(now_us, board);
        answers::Button { presses: self.presses, is_down: self.is_down, last_us: self.last_us }
    }

    /// Looks at it, where that is due.
    pub fn poll<B: Board>(&mut self, now_us: u64, board: &mut B) {
        if now_us >= self.watched_until_us {
            self.look_us = u64::MAX;
        }
        if now_us < self.look_us {
            return;
        }
        self.look_us = now_us + LOOK_US;
        let is_down = board.sample(START_BUTTON) != 0;
        if is_down != self.is_down {
            (self.is_down, self.since_us) = (is_down, now_us);
        } else if self.steady != Some(is_down) && now_us - self.since_us >= STEADY_US {
            if is_down && self.steady == Some(false) {
                self.presses = self.presses.wrapping_add(1);
                self.last_us = self.since_us;
            }
            self.steady = Some(is_down);
        }
    }

    /// When [`Button::poll`] has something to do next.
    pub fn wake_us(&self) -> u64 {
        self.look_us
    }
}
