//! Counts to values, for the brain's own use.

use super::board::Board;
use crate::wire::channel::{Description, Kind};

/// An analogue channel that the brain reads for itself.
#[derive(Clone, Copy, Debug)]
pub struct Sensor {
    channel: u16,
    scale: f64,
    offset: f64,
}

impl Sensor {
    /// The channel of this number, if the board has it.
    pub fn find(channels: &[Description], channel: u16) -> Option<Self> {
        describe(channels, channel).map(Sensor::from)
    }

    /// One conversion, in the unit of the channel.
    pub fn read<B: Board>(&self, board: &mut B) -> f64 {
        self.value(f64::from(board.sample(self.channel)))
    }

    /// The value of so many counts, which may be a mean.
    pub fn value(&self, counts: f64) -> f64 {
        self.offset + self.scale * counts
    }

    /// The channel's number.
    pub fn channel(&self) -> u16 {
        self.channel
    }
}

impl From<&Description> for Sensor {
    fn from(d: &Description) -> Self {
        Sensor { channel: d.channel, scale: d.scale, offset: d.offset }
    }
}

/// The description of a channel, if the board has it.
pub fn describe(channels: &[Description], channel: u16) -> Option<&Description> {
    let at = channels.binary_search_by_key(&channel, |d| d.channel).ok()?;
    channels.get(at)
}

/// Whether a channel can stand in a scan list.
pub fn is_sampled(kind: Kind) -> bool {
    matches!(kind, Kind::Voltage | Kind::Current | Kind::Input)
}
