//! The text that goes before a block of samples.

use super::channel::Description;
use super::error::{Error, ErrorCode};
use super::number::Unit;
use super::parameters::Parameters;
use super::response::{Response, Sink};
use core::fmt;

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

impl State {
    /// The words for the states.
    pub const WORDS: [(&'static str, State); 5] = [
        ("EMPTy", State::Empty),
        ("ARMed", State::Armed),
        ("RUNning", State::Running),
        ("DONE", State::Done),
        ("ABORted", State::Aborted),
    ];

    /// The word for this state.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize].0
    }
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

/// The greatest time in microseconds that passes through a double unchanged (285 years).
const TIME_MAX: i64 = 1 << 53;

impl Preamble {
    /// Writes the preamble as the answer to `FETCh:PREamble?`:
    /// `<id>,<state>,<points>,<interval us>,<average>,<first us>,<trigger us>,#H<crc>,<columns>`,
    /// then for each column `<channel>,<scale>,<offset>,<skew us>`.
    pub fn write(&self, response: &mut Response<'_, impl Sink>) -> fmt::Result {
        response.integer(self.id)?;
        response.keyword(self.state.word())?;
        response.integer(self.points)?;
        response.integer(self.interval_us)?;
        response.integer(self.average)?;
        response.integer(self.first_us)?;
        response.integer(self.trigger_us)?;
        response.hexadecimal(self.crc)?;
        response.integer(self.columns.len() as u32)?;
        for column in &self.columns {
            response.integer(column.channel)?;
            response.number(column.scale)?;
            response.number(column.offset)?;
            response.number(column.skew_us)?;
        }
        Ok(())
    }

    /// Reads a preamble back.
    pub fn parse(text: &[u8]) -> Result<Self, Error> {
        let mut fields = Parameters::read(text)?;
        let id = fields.integer(0..=u32::MAX.into())? as u32;
        let state = fields.keyword(&State::WORDS)?;
        let mut whole = |maximum: i64| fields.integer(0..=maximum);
        let mut preamble = Preamble {
            id,
            state,
            points: whole(u32::MAX.into())? as u32,
            interval_us: whole(u32::MAX.into())? as u32,
            average: whole(u16::MAX.into())? as u16,
            first_us: whole(TIME_MAX)? as u64,
            trigger_us: whole(TIME_MAX)? as u64,
            crc: whole(u32::MAX.into())? as u32,
            columns: heapless::Vec::new(),
        };
        for _ in 0..whole(SCAN_MAX as i64)? {
            let column = Column {
                channel: fields.integer(0..=u16::MAX.into())? as u16,
                scale: fields.number(Unit::None)?,
                offset: fields.number(Unit::None)?,
                skew_us: fields.number(Unit::None)?,
            };
            preamble.columns.push(column).map_err(|_| ErrorCode::TooMuchData)?;
        }
        fields.finish()?;
        Ok(preamble)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written(preamble: &Preamble) -> Vec<u8> {
        let mut text = Vec::new();
        preamble.write(&mut Response::new(&mut text)).expect("a growing sink takes all");
        text
    }

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
        assert_eq!(String::from_utf8(written(&preamble)).as_deref(), Ok(text));
        assert_eq!(Preamble::parse(text.as_bytes()), Ok(preamble));
        assert!(Preamble::parse(text.replace(",1,101", ",2,101").as_bytes()).is_err());
        assert!(Preamble::parse(text.replace(",1,101", ",17,101").as_bytes()).is_err());
    }

    #[test]
    fn states_know_their_words() {
        for (word, state) in State::WORDS {
            assert_eq!(state.word(), word);
        }
    }

    fn column() -> impl Strategy<Value = Column> {
        let number = prop::num::f64::NORMAL;
        (any::<u16>(), number, number, number).prop_map(|(channel, scale, offset, skew_us)| {
            Column { channel, scale, offset, skew_us }
        })
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back(
            id: u32,
            state in 0..State::WORDS.len(),
            points: u32,
            interval_us: u32,
            average: u16,
            first_us in 0..=TIME_MAX as u64,
            trigger_us in 0..=TIME_MAX as u64,
            crc: u32,
            columns in prop::collection::vec(column(), 0..=SCAN_MAX),
        ) {
            let state = State::WORDS[state].1;
            let columns = columns.into_iter().collect();
            let preamble = Preamble {
                id, state, points, interval_us, average, first_us, trigger_us, crc, columns,
            };
            prop_assert_eq!(Preamble::parse(&written(&preamble)), Ok(preamble));
        }
    }
}
