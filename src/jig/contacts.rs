//! Contact inputs closed for a time that the jig's clock ends.

use super::board::Board;
use super::switches::Switches;
use crate::wire::channel::CONTACT_CLOSER;

/// How many contact closers there are.
pub const CLOSERS: usize = 8;

/// The timed closures that go on, and when the last one was.
#[derive(Debug, Default)]
pub struct Contacts {
    ends_us: [Option<u64>; CLOSERS],
    last_us: (u64, u64),
}

impl Contacts {
    /// None yet.
    pub const fn new() -> Self {
        Contacts { ends_us: [None; CLOSERS], last_us: (0, 0) }
    }

    /// Whether a timed closure goes on.
    pub fn any(&self) -> bool {
        self.ends_us.iter().any(Option::is_some)
    }

    /// The last timed closure: when it began and when it ends or has ended, in microseconds.
    pub fn last_us(&self) -> (u64, u64) {
        self.last_us
    }

    /// The place of a contact closer among the eight.
    pub fn index(channel: u16) -> Option<usize> {
        channel.checked_sub(CONTACT_CLOSER).map(usize::from).filter(|&index| index < CLOSERS)
    }

    /// Closes contact closers, which have been checked, for a time.
    pub fn close<B: Board>(
        &mut self,
        channels: &[u16],
        time_us: u64,
        switches: &mut Switches,
        board: &mut B,
    ) -> u64 {
        let began_us = board.now_us();
        for &channel in channels {
            switches.set(channel, true, board);
            if let Some(index) = Self::index(channel) {
                self.ends_us[index] = Some(began_us + time_us);
            }
        }
        self.last_us = (began_us, began_us + time_us);
        began_us
    }

    /// A closer is switched by hand, so that its time no longer counts.
    pub fn forget(&mut self, channel: u16) {
        if let Some(index) = Self::index(channel) {
            self.ends_us[index] = None;
        }
    }

    /// All closers have been opened.
    pub fn forget_all(&mut self) {
        self.ends_us = [None; CLOSERS];
    }

    /// Opens the closers whose time is over.
    pub fn poll<B: Board>(&mut self, now_us: u64, switches: &mut Switches, board: &mut B) {
        for (channel, end_us) in (CONTACT_CLOSER..).zip(&mut self.ends_us) {
            if end_us.is_some_and(|end_us| end_us <= now_us) {
                *end_us = None;
                switches.set(channel, false, board);
            }
        }
    }

    /// When [`Contacts::poll`] has something to do next.
    pub fn wake_us(&self) -> u64 {
        self.ends_us.iter().flatten().copied().min().unwrap_or(u64::MAX)
    }
}
