//! The line in progress: how far it has come, and what it has made so far.

use crate::wire::LINE_MAX;
use crate::wire::error::Error;
use crate::wire::message::{Message, Position, Unit};
use crate::wire::seal::{Trailer, TrailerText};
use heapless::Vec;

/// Session and running number of a sealed line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seal {
    /// The host's session.
    pub session: u32,
    /// The running number in it.
    pub number: u32,
}

impl Seal {
    /// The trailer of a line of which nothing is carried out.
    pub fn refusal(self) -> TrailerText {
        self.trailer(0, 1).after(b"")
    }

    const fn trailer(self, carried_out: u16, errors: u16) -> Trailer {
        Trailer { session: self.session, number: self.number, carried_out, errors }
    }
}

/// The line in progress, or the last one that was.
#[derive(Debug)]
pub struct Progress {
    /// The line, seal taken off.
    text: Vec<u8, LINE_MAX>,
    /// How far it has been taken apart.
    position: Position,
    seal: Option<Seal>,
    /// It holds a unit.
    any: bool,
    /// Units carried out without an error.
    carried_out: u16,
    /// Errors that it has made.
    errors: u16,
    /// Something has been answered.
    answered: bool,
    /// It is not well-formed.
    malformed: bool,
}

impl Progress {
    /// No line yet.
    pub fn new() -> Self {
        Progress {
            text: Vec::new(),
            position: Position::default(),
            seal: None,
            any: false,
            carried_out: 0,
            errors: 0,
            answered: false,
            malformed: false,
        }
    }

    /// Begins with a line that is no longer than the longest one.
    pub fn begin(&mut self, text: &[u8], seal: Option<Seal>) {
        self.text.clear();
        let _ = self.text.extend_from_slice(text);
        self.position = Message::new(&self.text).position();
        self.seal = seal;
        self.any = false;
        (self.carried_out, self.errors) = (0, 0);
        (self.answered, self.malformed) = (false, false);
    }

    /// The next unit to be carried out, or why it cannot be. `None` when there is none left: after a
    /// command error, and after any error of a sealed line, the rest is not carried out.
    pub fn next_unit(&mut self) -> Option<Result<Unit<'_>, Error>> {
        if self.malformed || (self.seal.is_some() && self.errors > 0) {
            return None;
        }
        let mut message = Message::resume(&self.text, core::mem::take(&mut self.position));
        let unit = message.next();
        self.position = message.position();
        self.any |= unit.is_some();
        unit
    }

    /// Counts a unit: whether it has answered, or its error, which comes back to be reported.
    pub fn count(&mut self, result: Result<bool, Error>) -> Option<Error> {
        match result {
            Ok(answered) => {
                self.carried_out += 1;
                self.answered |= answered;
                None
            }
            Err(error) => {
                self.errors += 1;
                self.malformed |= error.code.is_command_error();
                Some(error)
            }
        }
    }

    /// Whether it is sealed.
    pub fn is_sealed(&self) -> bool {
        self.seal.is_some()
    }

    /// Whether a unit has answered.
    pub fn has_answered(&self) -> bool {
        self.answered
    }

    /// Whether the host has sent a line that it meant.
    pub fn is_well_formed(&self) -> bool {
        self.any && !self.malformed
    }

    /// What ends its answer, if it is sealed.
    pub fn trailer(&self) -> Option<Trailer> {
        Some(self.seal?.trailer(self.carried_out, self.errors))
    }
}
