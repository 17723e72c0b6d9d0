//! What queries are answered with: records of fields, and what is no list of elements.

use super::data::{Data, records};
use super::error::{Error, ErrorCode};
use super::limits::SEALED_BLOCK_MAX;
use super::parameters::Parameters;
use super::version::Version;
use super::writer::{Sink, Writer};
use core::fmt::{self, Write as _};

records! {
    /// The last soft start of the feed.
    SoftStart {
        /// What went into the module, in coulombs.
        charge_c: f64,
        /// How long it took, in seconds.
        duration_s: f64,
        /// The feed is full on.
        done: bool,
        /// The largest change of the current between two looks, in amperes.
        step_a: f64,
    }

    /// How long a load may be on and must rest.
    Duty {
        /// The longest time on, in seconds; 0 without a limit.
        on_s: f64,
        /// The rest, in seconds.
        rest_s: f64,
    }

    /// Commands sent, and when repetitions of the last one ended, by the jig's clock.
    Sent {
        /// Commands sent since boot.
        count: u32,
        /// When its last repetition ended.
        last_end_us: u64,
        /// When its first repetition ended.
        first_end_us: u64,
        /// When its second repetition ended; the first one where there was no second.
        second_end_us: u64,
    }

    /// The start button or foot switch.
    Button {
        /// How often it was pressed while somebody asked for it, since boot.
        presses: u32,
        /// Whether it is down now.
        is_down: bool,
        /// When the last press began, by the jig's clock, in microseconds; 0 before the first.
        last_us: u64,
    }

    /// Which bytes of which capture are wanted.
    Piece {
        /// The identity of the capture.
        id: u32,
        /// The first byte.
        offset: u32,
        /// How many.
        bytes: u32,
    }

    /// The last timed closure of a contact, by the jig's clock.
    Closure {
        /// When it began.
        began_us: u64,
        /// When it ends or ended.
        ends_us: u64,
    }
}

/// The longest text of an error (SCPI-1999, volume 2, 21.8.1).
const ERROR_TEXT_MAX: usize = 255;

/// An error as it is taken out of the queue.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ErrorReport {
    /// Its number; 0 when there is none.
    pub number: i16,
    /// Its text, and after a `;` what the jig has to add.
    pub text: heapless::String<ERROR_TEXT_MAX>,
}

impl From<Error> for ErrorReport {
    fn from(error: Error) -> Self {
        let mut text = heapless::String::new();
        let separator = if error.detail.is_empty() { "" } else { ";" };
        // What is too long is cut off: the number says it all.
        let _ = write!(text, "{}{separator}{}", error.code.text(), error.detail);
        ErrorReport { number: error.code.number(), text }
    }
}

impl Data<'_> for ErrorReport {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.integer(self.number)?;
        writer.string(&self.text)
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        let number = i16::read(from)?;
        let mut text = heapless::String::new();
        for character in from.string()?.chars() {
            text.push(character).map_err(|_| ErrorCode::TooMuchData)?;
        }
        Ok(ErrorReport { number, text })
    }
}

impl Data<'_> for Version {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.text(format_args!("{self}"))
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        let text = from.text()?;
        let (major, minor) = text.split_once('.').ok_or(ErrorCode::NumericData)?;
        let number = |digits: &str| digits.parse().map_err(|_| ErrorCode::NumericData);
        Ok(Version { major: number(major)?, minor: number(minor)? })
    }
}

/// The longest field of an identity.
const FIELD_MAX: usize = 40;

/// A field of an identity: short printable ASCII, fit for records and for the terminal.
pub type Field = heapless::String<FIELD_MAX>;

/// What a field may hold: neither of the two marks ends it (IEEE 488.2, 10.14).
fn is_plain(c: char) -> bool {
    (c == ' ' || c.is_ascii_graphic()) && !matches!(c, ',' | ';')
}

/// As much of a text as fits a field.
pub fn field(text: &str) -> Field {
    text.chars().filter(|c| is_plain(*c)).take(FIELD_MAX).collect()
}

/// What the first field of `*IDN?` reads.
pub const MAKER: &str = "musterbench";

/// Who a jig is: fields 2 to 4 of the answer to `*IDN?`; field 1 is always [`MAKER`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Identification {
    /// `jig`, or `simulated bench`.
    pub model: Field,
    /// Serial number; `0` where there is none (IEEE 488.2, 10.14).
    pub serial: Field,
    /// Version of the firmware.
    pub firmware: Field,
}

impl Data<'_> for Identification {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        let Identification { model, serial, firmware } = self;
        writer.text(format_args!("{MAKER},{model},{serial},{firmware}"))
    }

    /// Its fields are no data elements, but plain text between commas.
    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        let maker = from.text()?;
        let mut field = || {
            let text = from.text()?;
            let is_field = !text.is_empty() && text.chars().all(is_plain);
            let field = Field::try_from(text).ok().filter(|_| is_field);
            field.ok_or(Error::from(ErrorCode::InvalidString))
        };
        let identification =
            Identification { model: field()?, serial: field()?, firmware: field()? };
        if maker == MAKER { Ok(identification) } else { Err(ErrorCode::CharacterData.into()) }
    }
}

/// A piece of a block of samples. A jig streams it out of its memory and has no need of this.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block(pub heapless::Vec<u8, SEALED_BLOCK_MAX>);

impl Data<'_> for Block {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.block_header(self.0.len())?;
        writer.block_bytes(&self.0)
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        let bytes = from.block()?;
        heapless::Vec::from_slice(bytes).map(Block).map_err(|_| ErrorCode::TooMuchData.into())
    }
}

/// The answer to a message, unit by unit.
#[derive(Clone, Debug)]
pub struct Answers<'a> {
    rest: Option<&'a [u8]>,
}

impl<'a> Answers<'a> {
    /// Takes an answer, terminator and trailer taken off.
    pub fn new(answer: &'a [u8]) -> Self {
        Answers { rest: (!answer.is_empty()).then_some(answer) }
    }

    /// The next unit, read as what the query is answered with.
    ///
    /// # Errors
    /// There is no further unit, or it is something else.
    pub fn take<T: Data<'a>>(&mut self) -> Result<T, Error> {
        let rest = self.rest.ok_or(ErrorCode::QueryUnterminated)?;
        let length = unit_length(rest);
        self.rest = rest.get(length + 1..);
        let mut fields = Parameters::answer(&rest[..length]);
        let answer = T::read(&mut fields)?;
        fields.finish()?;
        Ok(answer)
    }

    /// All that is left, as text.
    ///
    /// # Errors
    /// It is no text.
    #[cfg(feature = "host")]
    pub fn rest(&mut self) -> Result<String, Error> {
        let rest = self.rest.take().unwrap_or_default().to_vec();
        String::from_utf8(rest).map_err(|_| ErrorCode::InvalidCharacter.into())
    }

    /// The only unit of an answer.
    ///
    /// # Errors
    /// See [`Answers::take`] and [`Answers::finish`].
    pub fn only<T: Data<'a>>(answer: &'a [u8]) -> Result<T, Error> {
        let mut answers = Answers::new(answer);
        let only = answers.take()?;
        answers.finish().map(|()| only)
    }

    /// Ends the answer.
    ///
    /// # Errors
    /// Something is left over.
    pub fn finish(self) -> Result<(), Error> {
        if self.rest.is_some() { Err(ErrorCode::QueryInterrupted.into()) } else { Ok(()) }
    }
}

/// How long the first unit is: up to a `;` that stands in no string and in no block.
fn unit_length(answer: &[u8]) -> usize {
    if let Some(block) = super::parameters::block_length(answer) {
        return block.min(answer.len());
    }
    let mut quoted = false;
    answer
        .iter()
        .position(|&byte| {
            quoted ^= byte == b'"';
            byte == b';' && !quoted
        })
        .unwrap_or(answer.len())
}

#[cfg(test)]
mod tests;
