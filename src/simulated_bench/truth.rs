//! What truly happened on the bench: what each reading should have been, from the circuits
//! themselves, before any error of the converter.
//!
//! Kept only where a test asks for it, and reached only in this process: nothing of it goes over
//! the wire.

use super::circuits::feed::FeedCircuit;
use super::circuits::loads::LoadCircuit;
use crate::signal::target::Position;

mod history;

pub use history::History;

/// A contact of the module that opened or closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ContactChange {
    /// When, microseconds.
    pub at_us: u64,
    /// The output, counted from 1.
    pub output: u8,
    /// Which of its contacts.
    pub position: Position,
    /// Whether it is closed from now on.
    pub closed: bool,
}

/// A command that the module heard, or a contact input that was closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Order {
    /// When it was complete, microseconds.
    pub at_us: u64,
    /// The output, counted from 1.
    pub output: u8,
    /// Where it is told to go.
    pub to: Position,
    /// Whether by its contact input.
    pub by_contact: bool,
}

/// A soft start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// When the feed came on, microseconds.
    pub began_us: u64,
    /// When the limit was taken off, microseconds; `None` while it is on.
    pub ended_us: Option<u64>,
    /// What went into the module until then, coulombs.
    pub charge_c: f64,
}

/// What truly happened since the bench was booted.
#[derive(Clone, Debug, Default)]
pub struct Truth {
    /// Feed current at the jig, amperes.
    pub feed_a: History,
    /// Feed voltage at the jig, volts.
    pub feed_v: History,
    /// Voltage of the load supply at the jig, volts.
    pub load_v: History,
    /// Current of the load supply, amperes.
    pub total_a: History,
    /// Current at each clamp, amperes.
    pub clamp_a: [History; 8],
    /// All changes of contacts, in order.
    pub contacts: Vec<ContactChange>,
    /// All orders, in order.
    pub orders: Vec<Order>,
    /// When the status lamp changed, microseconds, and whether it was lit from then on.
    pub lamp: Vec<(u64, bool)>,
    /// All soft starts, in order.
    pub starts: Vec<Start>,
    /// Charge that had gone through the feed when the present soft start began, coulombs.
    through_c: f64,
}

impl Truth {
    /// Takes note of what flows now.
    pub(super) fn see(&mut self, now_us: u64, feed: &FeedCircuit, loads: &LoadCircuit) {
        self.feed_a.see(now_us, feed.feed_a());
        self.feed_v.see(now_us, feed.feed_v());
        self.load_v.see(now_us, loads.bus_v());
        self.total_a.see(now_us, loads.total_a());
        for (clamp, history) in self.clamp_a.iter_mut().enumerate() {
            history.see(now_us, loads.clamp_a(clamp));
        }
    }

    /// A soft start begins.
    pub(super) fn starts(&mut self, now_us: u64, through_c: f64) {
        self.through_c = through_c;
        self.starts.push(Start { began_us: now_us, ended_us: None, charge_c: 0.0 });
    }

    /// The feed is driven in another way: a soft start that runs is over.
    pub(super) fn started(&mut self, now_us: u64, through_c: f64) {
        if let Some(start) = self.starts.last_mut()
            && start.ended_us.is_none()
        {
            start.ended_us = Some(now_us);
            start.charge_c = through_c - self.through_c;
        }
    }

    /// The status lamp is lit, or is not.
    pub(super) fn lamp(&mut self, now_us: u64, lit: bool) {
        if self.lamp.last().is_some_and(|&(_, before)| before) != lit {
            self.lamp.push((now_us, lit));
        }
    }
}
