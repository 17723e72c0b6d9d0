//! `OUTPut`: supplies on and off, polarity, trips, soft start.

use super::{seconds, supply, written};
use crate::jig::board::Board;
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::wire::error::Error;
use crate::wire::message;
use crate::wire::response::Response;
use crate::wire::tree::Node;

const POLARITY: [(&str, bool); 2] = [("NORMal", false), ("INVerted", true)];

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    let supply = supply(unit.suffix);
    match (unit.node, unit.query) {
        (Node::Output, false) => {
            let on = parameters.boolean()?;
            parameters.finish()?;
            instrument.set_output(supply, on)
        }
        (Node::Polarity, false) => {
            let inverted = parameters.keyword(&POLARITY)?;
            parameters.finish()?;
            instrument.power.set_inverted(inverted, &mut instrument.board)
        }
        (Node::ProtectionClear, _) => {
            parameters.finish()?;
            instrument.clear_trip(supply);
            Ok(())
        }
        (Node::Output, true) => {
            parameters.finish()?;
            written(response.boolean(instrument.power.is_on(supply)))
        }
        (Node::Polarity, true) => {
            parameters.finish()?;
            let (word, _) = POLARITY[usize::from(instrument.power.is_inverted())];
            written(response.keyword(word))
        }
        (Node::ProtectionTripped, _) => {
            parameters.finish()?;
            written(response.boolean(instrument.power.is_tripped(supply)))
        }
        _ => {
            parameters.finish()?;
            let charge = instrument.power.charge();
            written(response.number(charge.charge_c))?;
            written(response.number(seconds(charge.duration_us)))?;
            written(response.boolean(charge.done))?;
            written(response.number(charge.step_a))
        }
    }
}
