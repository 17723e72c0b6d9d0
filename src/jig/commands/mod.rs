//! What each command does and what each query answers.
//!
//! [`command`] and [`query`] hold a line each for all of them; what takes more than a line stands
//! in a file of its subtree.

mod command;
mod contact;
mod diagnostic;
mod drive;
mod fetch;
mod measure;
mod query;
mod route;
mod sense;
mod source;

use super::board::{Board, Unit};
use super::instrument::Instrument;
use super::measure::Measurement;
use super::output::Stream;
use super::phase::For;
use crate::wire::error::Error;
use crate::wire::refusal::Refusal;
use crate::wire::tree::{Order, query as asked};
use crate::wire::unit::Reply;

/// How a line goes on after one of its units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flow {
    /// The unit is complete.
    Done,
    /// It is complete when this has come.
    Wait(For),
    /// A block goes out after what has been answered.
    Stream(Stream),
}

/// What a unit can know of the message that it stands in.
#[derive(Clone, Copy, Debug)]
pub struct Context {
    /// It stands in a sealed line.
    pub sealed: bool,
    /// An answer waits to be read.
    pub message_available: bool,
}

/// Carries one unit out.
///
/// # Errors
/// Any error of the language; nothing has been carried out then.
pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    order: Order<'_>,
    context: Context,
    answer: &mut impl Reply,
) -> Result<Flow, Error> {
    match order {
        Order::Command(command) => command::carry_out(instrument, command),
        Order::Query(query) => query::answer(instrument, query, context, answer),
    }
}

/// Answers a unit that waited, once what it waited for has come.
///
/// # Errors
/// Its own; see also [`answer_measurement`].
pub fn complete<B: Board>(
    instrument: &mut Instrument<B>,
    what: For,
    answer: &mut impl Reply,
) -> Result<(), Error> {
    match what {
        For::Operations => Ok(()),
        For::OperationsAnswered => answer_complete(answer),
        For::Measurement => answer_measurement(instrument.measurement.take(), answer),
        For::Checksum(unit) => answer_preamble(instrument, unit, answer),
    }
}

/// Answers `*OPC?`, once nothing goes on.
///
/// # Errors
/// -430 when it does not fit.
fn answer_complete(answer: &mut impl Reply) -> Result<(), Error> {
    answer.reply(&asked::Opc {}, &true)
}

/// Answers `FETCh:PREamble?`, once the checksum of the block is there.
///
/// # Errors
/// -430 when it does not fit.
fn answer_preamble<B: Board>(
    instrument: &Instrument<B>,
    unit: Unit,
    answer: &mut impl Reply,
) -> Result<(), Error> {
    answer.reply(&asked::FetchPreamble { unit }, &fetch::preamble(instrument, unit))
}

/// Answers `MEASure`, once the measurement is complete.
///
/// # Errors
/// 142 when it has been broken off, -430 when the answer does not fit.
fn answer_measurement(
    measurement: Option<Measurement>,
    answer: &mut impl Reply,
) -> Result<(), Error> {
    let measurement = measurement.ok_or(Refusal::MeasurementInterrupted)?;
    measure::answer(&measurement, answer)
}
