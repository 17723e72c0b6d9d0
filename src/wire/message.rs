//! Program messages: the units of a line, one by one, with the header path of SCPI.
//!
//! IEEE 488.2, 7.3 to 7.6; SCPI-1999, volume 1, 6.2.4: the path of a header is that of the unit
//! before it without its last mnemonic; a leading colon starts at the root; common commands leave
//! the path as it is; mnemonics that were left out do not enter it.

use super::error::{Error, ErrorCode};
use super::header::{self, Found};
use super::parameters::Parameters;
use super::scan::Scanner;
use super::tree::{Node, Order};
use core::ops::Range;

/// The most mnemonics in one header.
const DEPTH_MAX: usize = 6;

/// Where each mnemonic of a path stands in the line.
type Path = heapless::Vec<Range<usize>, DEPTH_MAX>;

/// One unit of a message.
#[derive(Clone, Debug)]
pub struct Unit<'a> {
    /// What is to be carried out.
    pub node: Node,
    /// The numeric suffix of the header, checked; 1 where none was given.
    pub suffix: u8,
    /// Whether it is the query form.
    pub query: bool,
    /// The parameters, their syntax checked.
    pub parameters: Parameters<'a>,
}

impl<'a> Unit<'a> {
    /// Reads its parameters, all of them, by their types: so a unit with too many or too few is
    /// refused before anything of it is carried out.
    ///
    /// # Errors
    /// The first parameter that does not fit.
    pub fn read(self) -> Result<Order<'a>, Error> {
        let entry = self.node.entry();
        if self.query {
            let read = entry.query.ok_or(ErrorCode::UndefinedHeader)?;
            read(self.suffix, self.parameters).map(Order::Query)
        } else {
            let read = entry.command.ok_or(ErrorCode::UndefinedHeader)?;
            read(self.suffix, self.parameters).map(Order::Command)
        }
    }
}

/// How far a line has been taken apart. It borrows nothing, so a line can be gone on with later.
#[derive(Clone, Debug, Default)]
pub struct Position {
    /// Where the next unit begins.
    next: usize,
    path: Path,
    ended: bool,
    identified: bool,
}

/// A line taken apart, unit by unit.
///
/// After a command error (-1xx) there are no more units: the rest of the line is thrown away. A
/// query after `*IDN?` gives -440 in its place, and the units after it still come.
#[derive(Clone, Debug)]
pub struct Message<'a> {
    line: &'a [u8],
    scanner: Scanner<'a>,
    position: Position,
}

impl<'a> Message<'a> {
    /// Takes a line, terminator taken off. White space alone holds no unit.
    pub fn new(line: &'a [u8]) -> Self {
        let mut message = Message::resume(line, Position::default());
        message.scanner.skip_space();
        message.position.ended = message.scanner.at_end();
        message
    }

    /// Goes on with a line where [`Message::position`] was taken.
    pub fn resume(line: &'a [u8], position: Position) -> Self {
        let scanner = Scanner::new(line.get(position.next..).unwrap_or_default());
        Message { line, scanner, position }
    }

    /// How far the line has been taken apart.
    pub fn position(&self) -> Position {
        Position { next: self.read(), ..self.position.clone() }
    }

    /// Throws the rest of the line away.
    pub fn discard(&mut self) {
        self.position.ended = true;
    }

    /// How many bytes of the line have been read.
    fn read(&self) -> usize {
        self.line.len() - self.scanner.rest().len()
    }

    fn unit(&mut self) -> Result<Unit<'a>, Error> {
        self.scanner.skip_space();
        let (found, query) =
            if self.scanner.peek() == Some(b'*') { self.common()? } else { self.header()? };
        let parameters = Parameters::cut(&mut self.scanner)?;
        self.position.ended = !self.scanner.take(b';');
        if query && self.position.identified {
            return Err(ErrorCode::QueryAfterIndefinite.into());
        }
        self.position.identified |= query && found.node == Node::Idn;
        Ok(Unit { node: found.node, suffix: found.suffix, query, parameters })
    }

    fn common(&mut self) -> Result<(Found, bool), Error> {
        let start = self.scanner.rest();
        self.scanner.take(b'*');
        let word = self.scanner.word();
        check_mnemonic(word)?;
        let query = self.header_end()?;
        Ok((header::find_common(&start[..1 + word.len()], query)?, query))
    }

    fn header(&mut self) -> Result<(Found, bool), Error> {
        let mut path = self.position.path.clone();
        if self.scanner.take(b':') {
            path.clear();
        } else if !self.scanner.peek().is_some_and(|byte| byte.is_ascii_alphabetic()) {
            return Err(not_a_header(self.scanner.peek()));
        }
        loop {
            let word = self.scanner.word();
            check_mnemonic(word)?;
            let end = self.read();
            path.push(end - word.len()..end).map_err(|_| ErrorCode::UndefinedHeader)?;
            if !self.scanner.take(b':') {
                break;
            }
        }
        let query = self.header_end()?;
        let mnemonics: heapless::Vec<&[u8], DEPTH_MAX> =
            path.iter().map(|mnemonic| &self.line[mnemonic.clone()]).collect();
        let found = header::find(&mnemonics, query)?;
        path.pop();
        self.position.path = path;
        Ok((found, query))
    }

    /// Takes the `?` and checks that a header may end here; says whether it was a query.
    fn header_end(&mut self) -> Result<bool, Error> {
        let query = self.scanner.take(b'?');
        match self.scanner.peek() {
            None | Some(b';' | ..=b' ') => Ok(query),
            Some(byte) if starts_data(byte) => Err(ErrorCode::HeaderSeparator.into()),
            Some(_) => Err(ErrorCode::InvalidCharacter.into()),
        }
    }
}

impl<'a> Iterator for Message<'a> {
    type Item = Result<Unit<'a>, Error>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.position.ended {
            return None;
        }
        let unit = self.unit();
        self.position.ended |= unit.as_ref().is_err_and(|error| error.code.is_command_error());
        Some(unit)
    }
}

fn check_mnemonic(word: &[u8]) -> Result<(), ErrorCode> {
    match word.len() {
        0 => Err(ErrorCode::Header),
        1..=12 => Ok(()),
        _ => Err(ErrorCode::MnemonicTooLong),
    }
}

/// Where a unit should begin stands no header.
fn not_a_header(byte: Option<u8>) -> Error {
    match byte {
        None | Some(b';') => ErrorCode::Syntax.because("a unit is missing"),
        Some(byte) if starts_data(byte) || byte == b'?' => ErrorCode::Syntax.into(),
        Some(_) => ErrorCode::InvalidCharacter.into(),
    }
}

fn starts_data(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || b"\"'(#,+-.".contains(&byte)
}

#[cfg(test)]
mod tests;
