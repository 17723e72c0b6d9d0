//! What the brain needs from the electronics under it.

use super::hand::Hand;
use crate::signal::pulse::{Level, Pulse};
use crate::wire::channel::Description;
pub use crate::wire::suffix::{CaptureUnit as Unit, Supply};

/// How the feed is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FeedDrive {
    /// Both wires dead.
    Off,
    /// Soft start: on, with the current limited (about 250 mA) and the fast cut-off not armed.
    Limited,
    /// On, with the fast cut-off armed.
    Full,
}

/// Who the jig is: fields 2 to 4 of `*IDN?` (field 1 is always `musterbench`).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Identity<'a> {
    /// `jig` for hardware, `simulated bench` for the simulated one.
    pub model: &'a str,
    /// Serial number, no comma; `0` when it has none (IEEE 488.2, 10.14).
    pub serial: &'a str,
    /// Version of the firmware.
    pub firmware: &'a str,
}

/// The electronics under the brain.
///
/// All times are microseconds of one monotonic clock that starts at 0 at boot. Every method returns
/// at once. A board starts with all supplies off and all switches open.
pub trait Board {
    /// Who this is.
    fn identity(&self) -> Identity<'_>;

    /// The clock.
    fn now_us(&mut self) -> u64;

    /// Every channel that this board has, in rising order of number.
    fn channels(&self) -> &[Description];

    /// Drives the feed. Polarity may change only while it is off; the brain sees to that.
    fn set_feed(&mut self, drive: FeedDrive);

    /// Swaps the two wires of the feed.
    fn set_inverted(&mut self, inverted: bool);

    /// Sets the current limit of the soft start, in microamperes.
    fn set_soft_start_limit(&mut self, limit_ua: u32);

    /// Switches the supply of the loads.
    fn set_load_supply(&mut self, on: bool);

    /// Whether the hardware holds this supply off, whatever it is told: its cut-off has tripped.
    /// Latched until cleared.
    fn cut_off(&mut self, supply: Supply) -> bool;

    /// Clears the latches of both supplies. The brain has switched off before what they hold off:
    /// nothing goes on by this.
    fn clear_cut_off(&mut self);

    /// The board's over-temperature or interlock input, if it has one: a reason to stay off.
    fn interlock(&mut self) -> bool {
        false
    }

    /// Appends pulses to the queue of the feed and returns the time when the last of them ends.
    /// The brain never lets the queue hold more than [`PULSE_QUEUE`] pulses.
    fn drive(&mut self, pulses: &[Pulse]) -> u64;

    /// The queue is filled up when it ends sooner than this, in microseconds: longer than the brain is
    /// ever kept from coming by.
    fn lead_us(&self) -> u64 {
        3_000
    }

    /// When the queue runs dry; a time that has passed means that it is dry.
    fn drive_end_us(&self) -> u64;

    /// Throws away what is queued (the feed goes to its resting level).
    fn drive_clear(&mut self);

    /// The level that the feed holds while the queue is dry.
    fn rest(&mut self, level: Level);

    /// Opens or closes one switch: contact closers 201–208, load switches 301–308, bypasses
    /// 311–318, jig loads 321–328, signal light and sounder 611 and 612.
    fn set_switch(&mut self, channel: u16, closed: bool);

    /// One conversion of an analogue channel (or 0 and 1 of a digital input), now, in counts.
    fn sample(&mut self, channel: u16) -> i16;

    /// Puts the test voltage to where the resistance of a channel is measured, in one of the ways that
    /// it takes, counted from 0: returns after how many microseconds [`Board::sample`] reads it
    /// well, or `None` when there is no such way and all stays as it is (more than one is tried where the lowest
    /// resistance of several pairs is asked for). `None` takes the test voltage away: returns after
    /// how many microseconds it is gone, if it was there. No supply may be switched on before.
    fn connect_test(&mut self, at: Option<(u16, u8)>) -> Option<u32> {
        at.filter(|&(_, way)| way == 0).map(|_| 0)
    }

    /// Starts scans of `channels`, one every `interval_us`, the first one at the next instant. The
    /// interval is a multiple of that of every channel. The
    /// board keeps those not yet taken, with room for more than [`Board::scans_wait_us`]. One that
    /// had to be dropped must leave a gap in the times.
    fn start_scans(&mut self, unit: Unit, channels: &[u16], interval_us: u32);

    /// The brain comes for the scans this often, in microseconds: they take the longer the more there
    /// are, and that must not keep it from filling the feed's queue.
    fn scans_wait_us(&self) -> u64 {
        20_000
    }

    /// The oldest scan not yet taken: writes one count a channel, in the order of
    /// [`Board::start_scans`], and returns the time of the scan (skew not added).
    fn next_scan(&mut self, unit: Unit, counts: &mut [i16]) -> Option<u64>;

    /// Ends the scans and forgets those not taken.
    fn stop_scans(&mut self, unit: Unit);

    /// Self-test for `*TST?`: 0 is good, else the number of the first check that failed. With everything
    /// off it takes the zeros of all currents too.
    fn self_test(&mut self) -> u16;

    /// What a current read with nothing flowing, in counts: [`Board::sample`] has taken it off.
    fn zero(&mut self, channel: u16) -> i16 {
        let _ = channel;
        0
    }

    /// When the zeros were taken. A board that has none to take is always right.
    fn zeros_us(&mut self) -> u64 {
        self.now_us()
    }

    /// The hand that does as it is told: a simulated bench has one.
    fn hand(&mut self) -> Option<&mut dyn Hand> {
        None
    }
}

/// Whether channels are as [`Board::channels`] wants them. A board has the compiler ask.
pub const fn in_order(channels: &[Description]) -> bool {
    let mut at = 1;
    while at < channels.len() {
        if channels[at - 1].channel >= channels[at].channel {
            return false;
        }
        at += 1;
    }
    true
}

/// How many pulses the queue of the feed must hold: two of the longest packets.
pub const PULSE_QUEUE: usize = 320;
