//! What goes back to the host.

use super::board::Unit;
use super::captures::Captures;
use crate::wire::SEALED_BLOCK_MAX;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::seal::TrailerText;
use crate::wire::writer::Writer;
use heapless::Vec;

/// The most that the answer of one unit takes, blocks not counted.
pub const UNIT_MAX: usize = 2048;
/// The longest answer that is held: a block and its companions.
pub const ANSWER_MAX: usize = SEALED_BLOCK_MAX + UNIT_MAX;

/// Bytes that are kept for a separator and the trailer.
const RESERVE: usize = 1 + 64;

/// An answer as it is built.
pub type Answer = Vec<u8, ANSWER_MAX>;

/// A block that goes out straight from the memory of a capture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stream {
    /// The capture.
    pub unit: Unit,
    /// The next byte.
    pub offset: usize,
    /// The first byte that is not wanted.
    pub end: usize,
}

/// Answers on their way to the host.
#[derive(Debug)]
pub struct Output {
    /// The answer; what has been sent stays, so that it can be sent again.
    pub answer: Answer,
    sent: usize,
    stream: Option<Stream>,
    /// A trailer on its own, which leaves the stored answer alone.
    refusal: TrailerText,
    refusal_sent: usize,
}

impl Output {
    /// Nothing to send.
    pub const fn new() -> Self {
        Output {
            answer: Vec::new(),
            sent: 0,
            stream: None,
            refusal: TrailerText::new(),
            refusal_sent: 0,
        }
    }

    /// Whether all has been sent.
    pub fn is_drained(&self) -> bool {
        self.sent == self.answer.len()
            && self.stream.is_none()
            && self.refusal_sent == self.refusal.len()
    }

    /// Whether the answer of one more unit fits, with what is on its way already.
    pub fn has_room(&self) -> bool {
        self.stream.is_none() && self.answer.capacity() - self.answer.len() >= UNIT_MAX
    }

    /// Forgets all, sent or not.
    pub fn clear(&mut self) {
        // Field by field: the answer's memory is large, and its bytes need no wiping.
        self.answer.clear();
        self.sent = 0;
        self.stream = None;
        self.refusal.clear();
        self.refusal_sent = 0;
    }

    /// Appends the answer of one unit: gives its result, and whether it has written anything.
    ///
    /// # Errors
    /// Its own, or -430 when the answer does not fit; nothing of it stays then.
    pub fn append<T>(
        &mut self,
        separate: bool,
        write: impl FnOnce(&mut Writer<'_, Answer>) -> Result<T, Error>,
    ) -> Result<(T, bool), Error> {
        let start = self.answer.len();
        if separate {
            // The reserve has room for it.
            let _ = self.answer.push(b';');
        }
        let mut response = Writer::new(&mut self.answer);
        let result = write(&mut response);
        let wrote = response.any();
        let fits = self.answer.len() + RESERVE <= ANSWER_MAX;
        if result.is_err() || !wrote || !fits {
            self.answer.truncate(start);
        }
        match result {
            Ok(_) if !fits => Err(ErrorCode::QueryDeadlocked.into()),
            other => other.map(|value| (value, wrote)),
        }
    }

    /// Sends the answer once more.
    pub fn again(&mut self) {
        self.sent = 0;
    }

    /// Sends a block after the answer so far.
    pub fn stream(&mut self, stream: Stream) {
        self.stream = Some(stream);
    }

    /// Sends a trailer on its own.
    pub fn refuse(&mut self, trailer: TrailerText) {
        self.refusal = trailer;
        self.refusal_sent = 0;
    }

    /// The next bytes to go out, as many as fit; returns how many.
    pub fn transmit(&mut self, captures: &Captures, into: &mut [u8]) -> usize {
        let mut count = copy(&self.answer, &mut self.sent, into);
        if let Some(stream) = &mut self.stream
            && self.sent == self.answer.len()
        {
            let room = &mut into[count..];
            let wanted = room.len().min(stream.end - stream.offset);
            let read = captures.read(stream.unit, stream.offset, &mut room[..wanted]);
            stream.offset += read;
            count += read;
            if stream.offset == stream.end || (read == 0 && wanted > 0) {
                self.stream = None;
            }
        }
        if self.stream.is_none() && self.sent == self.answer.len() {
            count += copy(self.refusal.as_bytes(), &mut self.refusal_sent, &mut into[count..]);
        }
        count
    }
}

impl Default for Output {
    fn default() -> Self {
        Self::new()
    }
}

fn copy(from: &[u8], sent: &mut usize, into: &mut [u8]) -> usize {
    let left = &from[*sent..];
    let count = left.len().min(into.len());
    into[..count].copy_from_slice(&left[..count]);
    *sent += count;
    count
}
