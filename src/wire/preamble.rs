//! The text that goes before a block of samples.

use super::channel::Description;

/// The most channels in one scan.
pub const SCAN_MAX: usize = 16;

/// How far a capture has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Never armed since boot or reset.
    Empty,
    /// Armed: fills its pre-trigger and waits for the trigger.
    Armed,
    /// Triggered: takes its points.
    Running,
    /// All points taken.
    Done,
    /// Ended early by `ABORt`, a trip or a reset; the points it has are good.
    Aborted,
}

/// The part of a channel's description that a reader of a block needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// The channel.
    pub channel: u16,
    /// Value of one count.
    pub scale: f64,
    /// Value of zero counts.
    pub offset: f64,
    /// How long after the scan's time this channel is converted, in microseconds.
    pub skew_us: f64,
}

impl From<&Description> for Column {
    fn from(d: &Description) -> Self {
        Column { channel: d.channel, scale: d.scale, offset: d.offset, skew_us: d.skew_us }
    }
}

/// All that one must know to read a block of samples.
///
/// The block holds `points × columns` counts, `i16` little-endian, scan after scan.
#[derive(Clone, Debug, PartialEq)]
pub struct Preamble {
    /// The identity of the capture: counts up from 1, over both units.
    pub id: u32,
    /// How far it has come.
    pub state: State,
    /// Scans in the block.
    pub points: u32,
    /// Time between scans in microseconds, after averaging.
    pub interval_us: u32,
    /// Conversions averaged into one point.
    pub average: u16,
    /// Time of the first scan: the middle of its averaged conversions, rounded down.
    pub first_us: u64,
    /// Time of the trigger (the exact end of the command, or the start of the closure); 0 without.
    pub trigger_us: u64,
    /// CRC-32 (ISO-HDLC) of the whole block.
    pub crc: u32,
    /// The channels in order.
    pub columns: heapless::Vec<Column, SCAN_MAX>,
}
