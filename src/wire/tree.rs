//! The command tree: a type for every command and every query of the table, and all of them, for both
//! ends.

use super::answers::{self, Block, Closure, ErrorReport, Identification, Piece, SoftStart};
use super::channel::Description;
use super::channel_list::ChannelList;
use super::channels::{ListedOrPlain, Named, OneChannel};
use super::data::{Amperes, Measured, Ohms, Seconds};
use super::define::{language, unit};
use super::error::Error;
use super::parameters::Parameters;
use super::preamble::Preamble;
use super::sequence::{Sequence, Values};
use super::setting::{Bound, Setting};
use super::suffix::{CaptureUnit, Suffix, Supply};
use super::table::table;
use super::unit::{Ask, Unit};
use super::version;
use super::words::{self, FirstLevel};

/// Reads the parameters of a command.
pub type ReadCommand = for<'a> fn(u8, Parameters<'a>) -> Result<Command<'a>, Error>;

/// Reads the parameters of a query.
pub type ReadQuery = for<'a> fn(u8, Parameters<'a>) -> Result<Query<'a>, Error>;

/// One node that can be carried out.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// The header's pattern.
    pub pattern: &'static str,
    /// What it stands for.
    pub node: Node,
    /// The highest numeric suffix that it takes.
    pub suffix_max: u8,
    /// How it is read as a command, if it is one.
    pub command: Option<ReadCommand>,
    /// How it is read as a query, if it is one.
    pub query: Option<ReadQuery>,
}

impl Entry {
    /// Whether it may be sent as a query, or else as a command.
    pub const fn takes(&self, query: bool) -> bool {
        if query { self.query.is_some() } else { self.command.is_some() }
    }
}

/// A unit with its parameters, to be carried out.
#[derive(Clone, Debug, PartialEq)]
pub enum Order<'a> {
    /// Something to be done.
    Command(Command<'a>),
    /// Something to be answered.
    Query(Query<'a>),
}

table!(language);

#[cfg(test)]
mod tests;
