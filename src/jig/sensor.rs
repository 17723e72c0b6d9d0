//! Counts to values, for the brain's own use.

use super::board::Board;
use crate::wire::channel::{Description, Kind};

/// So near to an end of its range, in counts, a conversion may be cut off: rounding takes half a count on
/// either side.
const NEAR_COUNTS: f64 = 1.5;

/// An end of a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The value may be any lower one.
    Bottom,
    /// The value may be any higher one.
    Top,
}

/// The counts beyond which a conversion may be cut off.
#[derive(Clone, Copy, Debug)]
pub struct Ends {
    /// The lowest that is surely none: of all counts where the channel begins at zero, which is an honest
    /// value of it.
    lowest: i16,
    /// The highest that is surely none.
    highest: i16,
}

impl Ends {
    /// Those of a channel.
    pub fn of(d: &Description) -> Self {
        if !matches!(d.kind, Kind::Voltage | Kind::Current) {
            return Ends { lowest: i16::MIN, highest: i16::MAX - 1 };
        }
        let counts = |value: f64| (value - d.offset) / d.scale;
        let begins_below = d.minimum < 0.0;
        let low = || floor(counts(d.minimum) + NEAR_COUNTS);
        let high = floor(NEAR_COUNTS - counts(d.maximum)).saturating_neg();
        Ends {
            lowest: if begins_below { low().saturating_add(1) } else { i16::MIN },
            highest: high.saturating_sub(1),
        }
    }

    /// Whether a conversion stands at either end.
    #[inline]
    pub fn is_touched(&self, counts: i16) -> bool {
        (counts < self.lowest) | (counts > self.highest)
    }

    /// The end at which a conversion stands.
    pub fn touched(&self, counts: i16) -> Option<End> {
        if counts > self.highest {
            Some(End::Top)
        } else if counts < self.lowest {
            Some(End::Bottom)
        } else {
            None
        }
    }
}

/// The next whole number below. There is no such function without `std`.
fn floor(value: f64) -> i16 {
    let whole = value as i16;
    whole - i16::from(value < f64::from(whole))
}

/// An analogue channel that the brain reads for itself.
#[derive(Clone, Copy, Debug)]
pub struct Sensor {
    channel: u16,
    scale: f64,
    offset: f64,
    maximum: f64,
    ends: Ends,
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

    /// The highest value that it tells.
    pub fn maximum(&self) -> f64 {
        self.maximum
    }

    /// Where its conversions are cut off.
    pub fn ends(&self) -> &Ends {
        &self.ends
    }

    /// The channel's number.
    pub fn channel(&self) -> u16 {
        self.channel
    }
}

impl From<&Description> for Sensor {
    fn from(d: &Description) -> Self {
        Sensor {
            channel: d.channel,
            scale: d.scale,
            offset: d.offset,
            maximum: d.maximum,
            ends: Ends::of(d),
        }
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
