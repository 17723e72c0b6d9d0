//! `SOURce`: limit of the soft start, overload.

use super::{microseconds, seconds, supply, written};
use crate::jig::board::{Board, Supply};
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::jig::overload::{DELAY_MAX_US, DELAY_MIN_US};
use crate::jig::power::{FEED_OVERLOAD, LIMIT_A, LOADS_OVERLOAD};
use crate::wire::error::Error;
use crate::wire::message;
use crate::wire::number::Unit::{Ampere, Second};
use crate::wire::parameters::Numeric;
use crate::wire::response::Response;
use crate::wire::tree::Node;

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    let supply = supply(unit.suffix);
    let (overload_a, delay_us) = match supply {
        Supply::Feed => FEED_OVERLOAD,
        Supply::Loads => LOADS_OVERLOAD,
    };
    let (range, default, taken_in) = match (unit.node, supply) {
        (Node::SoftStartLimit, _) => (0.05..=0.5, LIMIT_A, Ampere),
        (Node::ProtectionDelay, _) => {
            (seconds(DELAY_MIN_US)..=seconds(DELAY_MAX_US), seconds(delay_us), Second)
        }
        (_, Supply::Feed) => (0.05..=3.0, overload_a, Ampere),
        (_, Supply::Loads) => (0.1..=10.0, overload_a, Ampere),
    };
    let asked: Option<Numeric> =
        if unit.query { parameters.bound()? } else { Some(parameters.numeric(taken_in)?) };
    parameters.finish()?;
    let asked = asked.map(|numeric| numeric.resolve(range, default)).transpose()?;
    let power = &mut instrument.power;
    match (unit.query, asked) {
        (false, Some(value)) => match unit.node {
            Node::SoftStartLimit => power.set_limit_a(&mut instrument.board, value),
            Node::ProtectionDelay => power.overload(supply).set_delay_us(microseconds(value)),
            _ => power.overload(supply).level_a = value,
        },
        (_, Some(bound)) => written(response.number(bound))?,
        (_, None) => written(response.number(match unit.node {
            Node::SoftStartLimit => power.limit_a(),
            Node::ProtectionDelay => seconds(power.overload(supply).delay_us()),
            _ => power.overload(supply).level_a,
        }))?,
    }
    Ok(())
}
