//! One unit of a program message by its type: written by the host, read by the jig.

use super::data::Data;
use super::error::{Error, ErrorCode};
use super::parameters::Parameters;
use super::pattern::Header;
use super::writer::{Sink, Writer};
use core::fmt;

/// A command or a query with its parameters.
pub trait Unit<'a>: Sized {
    /// Its header's pattern.
    const PATTERN: &'static str;

    /// Whether it is a query.
    const QUERY: bool;

    /// The numeric suffix of its header.
    fn suffix(&self) -> u8;

    /// Writes its parameters.
    fn write_parameters(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result;

    /// Reads its parameters, all of them; the suffix has been checked.
    ///
    /// # Errors
    /// What stands there is something else, too much or too little.
    fn read(suffix: u8, parameters: Parameters<'a>) -> Result<Self, Error>;

    /// Writes it as the next unit of a program message. The first one begins at the root anyhow.
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        let header = Header::new(Self::PATTERN, Self::QUERY).suffix(self.suffix());
        writer.header(header)?;
        self.write_parameters(writer)
    }
}

/// A query, with the type of its answer.
pub trait Ask<'a>: Unit<'a> {
    /// What it is answered with.
    type Answer: for<'r> Data<'r> + Clone + 'static;
}

/// Takes what queries are answered with.
pub trait Reply {
    /// Answers a query.
    ///
    /// # Errors
    /// -430 when the answer does not fit.
    fn reply<'a, Q: Ask<'a>>(&mut self, query: &Q, answer: &Q::Answer) -> Result<(), Error>;

    /// Begins a block of so many bytes.
    ///
    /// # Errors
    /// -430 when it does not fit.
    fn begin_block(&mut self, length: usize) -> Result<(), Error>;

    /// Goes on with it.
    ///
    /// # Errors
    /// -430 when it does not fit.
    fn continue_block(&mut self, bytes: &[u8]) -> Result<(), Error>;
}

impl<S: Sink> Reply for Writer<'_, S> {
    fn reply<'a, Q: Ask<'a>>(&mut self, _: &Q, answer: &Q::Answer) -> Result<(), Error> {
        answer.write(self).map_err(does_not_fit)
    }

    fn begin_block(&mut self, length: usize) -> Result<(), Error> {
        self.block_header(length).map_err(does_not_fit)
    }

    fn continue_block(&mut self, bytes: &[u8]) -> Result<(), Error> {
        self.block_bytes(bytes).map_err(does_not_fit)
    }
}

fn does_not_fit(_: fmt::Error) -> Error {
    ErrorCode::QueryDeadlocked.into()
}
