//! `DIAGnostic`: what an operator's hand would do and what a reference meter shows, on a simulated
//! bench.

use super::written;
use crate::jig::board::Board;
use crate::jig::hand::{HandAct, NotFitted};
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT};
use crate::wire::error::{Error, ErrorCode};
use crate::wire::message;
use crate::wire::number;
use crate::wire::response::Response;
use crate::wire::tree::Node;

/// The largest reference resistor, ohms.
const REFERENCE_MAX_OHM: f64 = 1e6;

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    let act = match unit.node {
        Node::HandMeter => {
            parameters.finish()?;
            let hand = instrument.board.hand().ok_or(ErrorCode::HardwareMissing)?;
            return written(response.number(hand.reference_meter()));
        }
        Node::HandSwitches => {
            HandAct::Switches(parameters.integer(0..=i64::from(u32::MAX))? as u32)
        }
        Node::HandReference => {
            let ohm = parameters.number(number::Unit::Ohm)?;
            let mut channels = parameters.channels()?.channels();
            let (channel, more) = (channels.next(), channels.next());
            let channel = channel
                .filter(|c| more.is_none() && can_be_measured(*c))
                .ok_or(ErrorCode::DataOutOfRange.because("one of 2 and 101 to 108"))?;
            if !(0.0..=REFERENCE_MAX_OHM).contains(&ohm) {
                return Err(ErrorCode::DataOutOfRange.because("0 to 1E6 ohm"));
            }
            HandAct::Reference { channel, milliohm: number::round(ohm * 1e3) as u32 }
        }
        _ => HandAct::Auxiliary(parameters.boolean()?),
    };
    parameters.finish()?;
    let hand = instrument.board.hand().ok_or(ErrorCode::HardwareMissing)?;
    hand.act(act).map_err(|NotFitted| ErrorCode::HardwareMissing.into())
}

/// Whether a reference resistor can be put where this channel measures.
const fn can_be_measured(channel: u16) -> bool {
    channel == FEED_CURRENT || (channel >= CLAMP_CURRENT && channel < CLAMP_CURRENT + 8)
}
