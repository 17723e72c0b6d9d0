//! The host's reader: bytes in, answers out.

use super::seal::Trailer;

/// One answer, newline taken off.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    bytes: Vec<u8>,
    /// Where its last unit begins.
    last_unit: usize,
}

impl Answer {
    /// All bytes of the answer, blocks included, newline left out.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The response and the trailer of the answer to a sealed line; `None` where there is no
    /// trailer, or where anything of the answer was damaged.
    pub fn sealed(&self) -> Option<(&[u8], Trailer)> {
        Trailer::split(&self.bytes, self.last_unit)
    }
}

/// What the reader has found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Found {
    /// A whole answer.
    Answer(Answer),
    /// More bytes than any answer has; they have been thrown away.
    TooLong,
}

#[derive(Clone, Copy, Debug)]
enum Place {
    /// Between elements, or in one that needs no care.
    Open,
    /// In a string, up to this quote.
    Quoted(u8),
    /// After a `#`.
    Hash,
    /// In the length of a block: digits to come, and the length so far.
    Length(u8, usize),
    /// In a block: bytes to come.
    Block(usize),
}

/// Finds the end of each answer in a stream of bytes.
///
/// A newline inside a block belongs to the block; anywhere else it ends the answer, also in a
/// string, for the jig sends no newline in one. So the reader is back in step after the next
/// newline, or, inside a block whose length was damaged, after [`AnswerReader::reset`].
#[derive(Clone, Debug)]
pub struct AnswerReader {
    bytes: Vec<u8>,
    last_unit: usize,
    place: Place,
    limit: usize,
    overrun: bool,
}

impl AnswerReader {
    /// A reader for answers of at most `limit` bytes.
    pub fn new(limit: usize) -> Self {
        AnswerReader { bytes: Vec::new(), last_unit: 0, place: Place::Open, limit, overrun: false }
    }

    /// Takes the next byte in; gives the answer that it ends, if it ends one.
    pub fn push(&mut self, byte: u8) -> Option<Found> {
        self.place = match (self.place, byte) {
            (Place::Block(left), _) => self.in_block(left - 1),
            (_, b'\n') => return Some(self.finish()),
            (Place::Open, b'"' | b'\'') => Place::Quoted(byte),
            (Place::Open, b'#') => Place::Hash,
            (Place::Open, b';') => {
                self.last_unit = self.bytes.len() + 1;
                Place::Open
            }
            (Place::Quoted(quote), _) if byte == quote => Place::Open,
            (Place::Hash, b'1'..=b'9') => Place::Length(byte - b'0', 0),
            (Place::Length(digits, length), b'0'..=b'9') => {
                let length = length * 10 + usize::from(byte - b'0');
                if digits > 1 { Place::Length(digits - 1, length) } else { self.in_block(length) }
            }
            (Place::Hash | Place::Length(..), _) => Place::Open,
            (place, _) => place,
        };
        if self.bytes.len() < self.limit {
            self.bytes.push(byte);
        } else {
            self.overrun = true;
        }
        None
    }

    /// Takes bytes in up to the end of an answer; says how many it took.
    pub fn feed(&mut self, bytes: &[u8]) -> (usize, Option<Found>) {
        for (i, &byte) in bytes.iter().enumerate() {
            if let Some(found) = self.push(byte) {
                return (i + 1, Some(found));
            }
        }
        (bytes.len(), None)
    }

    /// Whether an answer has begun and not ended.
    pub fn in_answer(&self) -> bool {
        !self.bytes.is_empty()
    }

    /// Throws away what it has: the line fell silent in the middle of an answer.
    pub fn reset(&mut self) {
        self.bytes.clear();
        (self.last_unit, self.place, self.overrun) = (0, Place::Open, false);
    }

    /// A block with so many bytes to come. One that no answer can hold was damaged: waiting for its
    /// end would swallow the answers after it.
    fn in_block(&mut self, left: usize) -> Place {
        if left > self.limit {
            self.overrun = true;
            return Place::Open;
        }
        if left == 0 { Place::Open } else { Place::Block(left) }
    }

    fn finish(&mut self) -> Found {
        let found = if self.overrun {
            Found::TooLong
        } else {
            let bytes = core::mem::take(&mut self.bytes);
            Found::Answer(Answer { bytes, last_unit: self.last_unit })
        };
        self.reset();
        found
    }
}

#[cfg(test)]
mod tests;
