//! The text that goes before a block of samples.

use super::channel::Description;
use super::data::{Data, records};
use super::error::{Error, ErrorCode};
use super::parameters::Parameters;
use super::words::by_word;
use super::writer::{Sink, Writer};
use core::fmt;

/// The most channels in one scan.
pub const SCAN_MAX: usize = 16;

/// Stands for a point of several conversions of which one was cut off at the top of its range, or at both
/// ends: its mean is not known.
pub const CUT_OFF_HIGH: i16 = i16::MAX;
/// Stands for a point of several conversions of which one was cut off at the bottom of its range.
pub const CUT_OFF_LOW: i16 = i16::MIN;

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

by_word! {
    State: [
        "EMPTy" State::Empty,
        "ARMed" State::Armed,
        "RUNning" State::Running,
        "DONE" State::Done,
        "ABORted" State::Aborted,
    ]
}

records! {
    /// The part of a channel's description that a reader of a block needs.
    Column {
        /// The channel.
        channel: u16,
        /// Value of one count.
        scale: f64,
        /// Value of zero counts.
        offset: f64,
        /// How long after the scan's time this channel is converted, in microseconds.
        skew_us: f64,
    }
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

impl Data<'_> for Preamble {
    /// Writes the answer to `FETCh:PREamble?`:
    /// `<id>,<state>,<points>,<interval us>,<average>,<first us>,<trigger us>,#H<crc>,<columns>`,
    /// then for each column `<channel>,<scale>,<offset>,<skew us>`.
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        self.id.write(writer)?;
        self.state.write(writer)?;
        self.points.write(writer)?;
        self.interval_us.write(writer)?;
        self.average.write(writer)?;
        self.first_us.write(writer)?;
        self.trigger_us.write(writer)?;
        writer.hexadecimal(self.crc)?;
        (self.columns.len() as u32).write(writer)?;
        self.columns.iter().try_for_each(|column| column.write(writer))
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        let mut preamble = Preamble {
            id: Data::read(from)?,
            state: Data::read(from)?,
            points: Data::read(from)?,
            interval_us: Data::read(from)?,
            average: Data::read(from)?,
            first_us: Data::read(from)?,
            trigger_us: Data::read(from)?,
            crc: Data::read(from)?,
            columns: heapless::Vec::new(),
        };
        for _ in 0..u32::read(from)? {
            preamble.columns.push(Column::read(from)?).map_err(|_| ErrorCode::TooMuchData)?;
        }
        Ok(preamble)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::answers::Answers;

    #[test]
    fn reads_as_documented() {
        let column = Column { channel: 101, scale: 6.25e-5, offset: 0.0, skew_us: 1.5 };
        let preamble = Preamble {
            id: 7,
            state: State::Done,
            points: 400,
            interval_us: 200,
            average: 1,
            first_us: 12_345_678,
            trigger_us: 12_365_678,
            crc: 0xCBF4_3926,
            columns: [column].into_iter().collect(),
        };
        let text = "7,DONE,400,200,1,12345678,12365678,#HCBF43926,1,101,6.25E-5,0.0E+0,1.5E+0";
        let mut written = String::new();
        preamble.write(&mut Writer::new(&mut written)).expect("a growing sink takes all");
        assert_eq!(written, text);
        let read = |text: &str| Answers::only::<Preamble>(text.as_bytes());
        assert_eq!(read(text), Ok(preamble));
        assert!(read(&text.replace(",1,101", ",2,101")).is_err());
        assert!(read(&text.replace(",1,101", ",17,101")).is_err());
    }
}
