//! Contact inputs closed for a time, and the start button.

use crate::jig::board::Board;
use crate::jig::contacts::{CLOSERS, Contacts};
use crate::jig::instrument::Instrument;
use crate::jig::sensor::describe;
use crate::wire::answers;
use crate::wire::channel::START_BUTTON;
use crate::wire::data::Seconds;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::tree::command;
use heapless::Vec;

/// How long a closure may last: from what a switch of the jig can do to what a finger would.
const CLOSURE: core::ops::RangeInclusive<Seconds> = Seconds(0.001)..=Seconds(60.0);

/// Closes contact closers for a time.
///
/// # Errors
/// -222 for another time, or a channel that is no contact closer; -223 for too many.
pub fn close<B: Board>(
    instrument: &mut Instrument<B>,
    these: &command::Contact<'_>,
) -> Result<(), Error> {
    if !CLOSURE.contains(&these.time) {
        return Err(ErrorCode::DataOutOfRange.because("1 ms to 60 s"));
    }
    let mut channels = Vec::<u16, CLOSERS>::new();
    for channel in these.closers.channels() {
        if Contacts::index(channel).is_none() {
            return Err(ErrorCode::DataOutOfRange.because("no such contact closer"));
        }
        instrument.switches.is_closed(channel, &instrument.board)?;
        channels
            .push(channel)
            .map_err(|_| ErrorCode::TooMuchData.because("8 contact closers at most"))?;
    }
    instrument.close_contacts(&channels, these.time.in_us());
    Ok(())
}

/// The start button, from now on watched.
///
/// # Errors
/// -241 where there is none.
pub fn button<B: Board>(instrument: &mut Instrument<B>) -> Result<answers::Button, Error> {
    if describe(instrument.board.channels(), START_BUTTON).is_none() {
        return Err(ErrorCode::HardwareMissing.into());
    }
    let now_us = instrument.board.now_us();
    Ok(instrument.button.ask(now_us, &mut instrument.board))
}
