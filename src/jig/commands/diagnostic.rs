//! What an operator's hand would do and what a reference meter shows, on a simulated bench.

use crate::jig::board::Board;
use crate::jig::hand::{HandAct, NotFitted};
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT};
use crate::wire::data::{Measured, Ohms};
use crate::wire::error::{Error, ErrorCode};
use crate::wire::number;
use crate::wire::tree::command;

/// What reference resistors there are; 0 puts back what was there.
const REFERENCES: core::ops::RangeInclusive<Ohms> = Ohms(0.0)..=Ohms(1e6);

/// Does what a hand would do.
///
/// # Errors
/// -241 on real hardware.
pub fn hand<B: Board>(board: &mut B, act: HandAct) -> Result<(), Error> {
    let hand = board.hand().ok_or(ErrorCode::HardwareMissing)?;
    hand.act(act).map_err(|NotFitted| ErrorCode::HardwareMissing.into())
}

/// What the reference meter shows, in amperes.
///
/// # Errors
/// -241 on real hardware.
pub fn meter<B: Board>(board: &mut B) -> Result<Measured, Error> {
    let hand = board.hand().ok_or(ErrorCode::HardwareMissing)?;
    Ok(Measured(hand.reference_meter()))
}

/// A reference resistor to be put somewhere.
///
/// # Errors
/// -222 for another resistance or another place.
pub fn reference(to: &command::HandReference) -> Result<HandAct, Error> {
    let channel = to.place.0;
    if !can_be_measured(channel) {
        return Err(ErrorCode::DataOutOfRange.because("one of 2 and 101 to 108"));
    }
    if !REFERENCES.contains(&to.resistance) {
        return Err(ErrorCode::DataOutOfRange.because("0 to 1E6 ohm"));
    }
    let milliohm = number::round(to.resistance.0 * 1e3) as u32;
    Ok(HandAct::Reference { channel, milliohm })
}

/// Whether a reference resistor can be put where this channel measures.
const fn can_be_measured(channel: u16) -> bool {
    channel == FEED_CURRENT || (channel >= CLAMP_CURRENT && channel < CLAMP_CURRENT + 8)
}
