//! Switches, duties, scan lists.

use crate::jig::board::Board;
use crate::jig::captures::Captures;
use crate::jig::instrument::Instrument;
use crate::jig::sensor::{describe, is_sampled};
use crate::jig::sweep::UNKNOWN;
use crate::jig::switches::Switches;
use crate::wire::channel_list::ChannelList;
use crate::wire::data::Seconds;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::preamble::SCAN_MAX;
use crate::wire::sequence::{VALUES_MAX, Values};
use crate::wire::tree::command;
use core::ops::RangeInclusive;
use heapless::Vec;

/// How long a load may be on, and how long it may have to rest: 0 is without a limit.
const DUTY: RangeInclusive<Seconds> = Seconds(0.0)..=Seconds(3600.0);

/// Closes switches: all of them, or none.
///
/// # Errors
/// -222 for a channel that is no switch, 111 for a load that rests.
pub fn close<B: Board>(
    instrument: &mut Instrument<B>,
    list: &ChannelList<'_>,
) -> Result<(), Error> {
    for channel in list.channels() {
        instrument.switches.check_close(channel, &instrument.board)?;
    }
    list.channels().for_each(|channel| instrument.set_switch(channel, true));
    Ok(())
}

/// Opens switches: all of them, or none.
///
/// # Errors
/// -222 for a channel that is no switch.
pub fn open<B: Board>(instrument: &mut Instrument<B>, list: &ChannelList<'_>) -> Result<(), Error> {
    for channel in list.channels() {
        instrument.switches.is_closed(channel, &instrument.board)?;
    }
    list.channels().for_each(|channel| instrument.set_switch(channel, false));
    Ok(())
}

/// Whether switches are closed, or else open.
///
/// # Errors
/// -222 for a channel that is no switch, -223 for too many.
pub fn are<B: Board>(
    closed: bool,
    list: &ChannelList<'_>,
    switches: &Switches,
    board: &B,
) -> Result<Values<bool>, Error> {
    let mut answers = Vec::<bool, VALUES_MAX>::new();
    for channel in list.channels() {
        let is_so = switches.is_closed(channel, board)? == closed;
        answers.push(is_so).map_err(|_| ErrorCode::TooMuchData.because("64 channels at most"))?;
    }
    Ok(Values(answers))
}

/// Sets how long loads may be on and must rest: of all of them, or of none.
///
/// # Errors
/// -222 for another time, or a channel that switches no load.
pub fn set_duty<B: Board>(
    instrument: &mut Instrument<B>,
    to: &command::Duty<'_>,
) -> Result<(), Error> {
    let on = to.on.resolve(&DUTY, Seconds(0.0))?;
    let rest = to.rest.resolve(&DUTY, Seconds(0.0))?;
    for channel in to.loads.channels() {
        instrument.switches.duty(channel, &instrument.board)?;
    }
    to.loads.channels().for_each(|load| instrument.set_duty(load, on.in_us(), rest.in_us()));
    Ok(())
}

/// Sets the channels of a capture.
///
/// # Errors
/// -222 for a channel that cannot be sampled, -223 for too many.
pub fn set_scan<B: Board>(
    captures: &mut Captures,
    board: &B,
    these: &command::Scan<'_>,
) -> Result<(), Error> {
    let mut channels = Vec::<u16, SCAN_MAX>::new();
    for channel in these.channels.channels() {
        describe(board.channels(), channel).filter(|d| is_sampled(d.kind)).ok_or(UNKNOWN)?;
        channels
            .push(channel)
            .map_err(|_| ErrorCode::TooMuchData.because("16 channels at most"))?;
    }
    captures.sweep_mut(these.unit).channels = channels;
    Ok(())
}
