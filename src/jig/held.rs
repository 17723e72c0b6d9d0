//! The line that is being carried out.

use super::board::Unit;
use super::instrument::Instrument;
use crate::wire::error::Error;

/// How far the line has come.
#[derive(Clone, Copy, Debug)]
pub struct Held {
    /// Session and number of a sealed line.
    pub seal: Option<(u32, u32)>,
    /// Units that are behind us.
    pub units: usize,
    /// Units carried out without an error.
    pub carried_out: u16,
    /// Errors that the line has made.
    pub errors: u16,
    /// Something has been answered.
    pub answered: bool,
    /// Not a well-formed line.
    pub malformed: bool,
    /// What the last of those units waits for.
    pub waiting: Option<Waiting>,
}

/// What a unit waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Waiting {
    /// The end of all operations.
    Operations,
    /// The same, and then answers 1.
    OperationsAnswered,
    /// The measurement.
    Measurement,
    /// The checksum of a capture's block, and then answers its preamble.
    Checksum(Unit),
}

impl Held {
    /// A line of which nothing has been carried out yet.
    pub const fn new(seal: Option<(u32, u32)>) -> Self {
        Held {
            seal,
            units: 0,
            carried_out: 0,
            errors: 0,
            answered: false,
            malformed: false,
            waiting: None,
        }
    }

    /// Takes a unit's result into account: whether it has answered, or its error.
    pub fn count<B>(&mut self, result: Result<bool, Error>, instrument: &mut Instrument<B>) {
        match result {
            Ok(answered) => {
                self.carried_out += 1;
                self.answered |= answered;
            }
            Err(error) => {
                self.errors += 1;
                self.malformed |= error.code.is_command_error();
                instrument.status.report(error);
            }
        }
    }

    /// Whether the units that are left are not carried out.
    pub fn is_over(&self) -> bool {
        self.malformed || (self.seal.is_some() && self.errors > 0)
    }
}
