//! What each header does, a file a subtree.

mod common;
mod contact;
mod diagnostic;
mod drive;
mod fetch;
mod measure;
mod output;
mod route;
mod sense;
mod source;
mod status;
mod system;
mod trigger;

use super::board::{Board, Supply, Unit};
use super::instrument::Instrument;
use super::output::{Answer, Stream};
use super::phase::For;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::message;
use crate::wire::number;
use crate::wire::response::Response;
use crate::wire::tree::Node;
use core::fmt;

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
    unit: message::Unit<'_>,
    context: Context,
    response: &mut Response<'_, Answer>,
) -> Result<Flow, Error> {
    use Node::*;
    let done = |result: Result<(), Error>| result.map(|()| Flow::Done);
    match unit.node {
        Cls | Ese | Esr | Idn | Opc | Rst | Sre | Stb | Tst | Wai => {
            common::carry_out(instrument, unit, context, response)
        }
        ErrorNext | ErrorCount | Version | Protocol | Clock | Silence | SealEnd | SealState
        | ChannelCatalog | ChannelDescribe => done(system::carry_out(instrument, unit, response)),
        OperationEvent
        | OperationCondition
        | OperationEnable
        | OperationPositive
        | OperationNegative
        | QuestionableEvent
        | QuestionableCondition
        | QuestionableEnable
        | QuestionablePositive
        | QuestionableNegative
        | StatusPreset => done(status::carry_out(&mut instrument.status, unit, response)),
        Output | Polarity | ProtectionClear | ProtectionTripped | Charge => {
            done(output::carry_out(instrument, unit, response))
        }
        SoftStartLimit | ProtectionLevel | ProtectionDelay => {
            done(source::carry_out(instrument, unit, response))
        }
        Close | Open | OpenAll | Duty | Scan => done(route::carry_out(instrument, unit, response)),
        SweepPoints | SweepInterval | SweepOffset | AverageCount => {
            done(sense::carry_out(instrument, unit, response))
        }
        TriggerSource | Trigger | Initiate | Abort => {
            done(trigger::carry_out(instrument, unit, response))
        }
        Fetch | FetchPreamble => fetch::carry_out(instrument, unit, context, response),
        MeasureCurrent | MeasureVoltage | MeasureResistance => measure::carry_out(instrument, unit),
        Idle | Packet | Pulses | Sent => done(drive::carry_out(instrument, unit, response)),
        Contact | ContactTime => done(contact::carry_out(instrument, unit, response)),
        HandSwitches | HandAuxiliary | HandReference | HandMeter => {
            done(diagnostic::carry_out(instrument, unit, response))
        }
    }
}

pub use fetch::preamble;

/// The result of writing: what does not fit is -430.
pub fn written(result: fmt::Result) -> Result<(), Error> {
    result.map_err(|fmt::Error| ErrorCode::QueryDeadlocked.into())
}

/// The supply that a suffix means; suffixes have been checked.
const fn supply(suffix: u8) -> Supply {
    if suffix == 1 { Supply::Feed } else { Supply::Loads }
}

/// The capture that a suffix means; suffixes have been checked.
const fn unit(suffix: u8) -> Unit {
    if suffix == 1 { Unit::Capture } else { Unit::Watch }
}

/// Seconds to whole microseconds.
fn microseconds(seconds: f64) -> u64 {
    number::round(seconds * 1e6).max(0) as u64
}

/// Microseconds to seconds.
fn seconds(microseconds: u64) -> f64 {
    microseconds as f64 / 1e6
}
