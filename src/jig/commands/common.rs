//! Common commands (IEEE 488.2, chapter 10).

use super::{Context, Flow, written};
use crate::jig::board::Board;
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::jig::phase::For;
use crate::wire::error::Error;
use crate::wire::message;
use crate::wire::response::Response;
use crate::wire::status::event;
use crate::wire::tree::Node;

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    context: Context,
    response: &mut Response<'_, Answer>,
) -> Result<Flow, Error> {
    let mut parameters = unit.parameters;
    let mask = match (unit.node, unit.query) {
        (Node::Ese | Node::Sre, false) => parameters.integer(0..=255)? as u8,
        _ => 0,
    };
    parameters.finish()?;
    match (unit.node, unit.query) {
        (Node::Cls, _) => {
            instrument.status.clear();
            instrument.announces_completion = false;
        }
        (Node::Ese, false) => instrument.status.set_event_enable(mask),
        (Node::Ese, true) => written(response.integer(instrument.status.event_enable()))?,
        (Node::Esr, _) => written(response.integer(instrument.status.read_event()))?,
        (Node::Idn, _) => {
            let who = instrument.board.identity();
            let (model, serial, firmware) = (who.model, who.serial, who.firmware);
            written(response.text(format_args!("musterbench,{model},{serial},{firmware}")))?;
        }
        (Node::Opc, false) => {
            let busy = instrument.is_busy();
            instrument.announces_completion = busy;
            if !busy {
                instrument.status.set_event(event::OPERATION_COMPLETE);
            }
        }
        (Node::Opc, true) if instrument.is_busy() => {
            return Ok(Flow::Wait(For::OperationsAnswered));
        }
        (Node::Opc, true) => written(response.integer(1))?,
        (Node::Rst, _) => instrument.reset(),
        (Node::Sre, false) => instrument.status.set_service_enable(mask),
        (Node::Sre, true) => written(response.integer(instrument.status.service_enable()))?,
        (Node::Stb, _) => {
            let status = instrument.status.status_byte(context.message_available);
            written(response.integer(status))?;
        }
        (Node::Tst, _) => written(response.integer(instrument.board.self_test()))?,
        (Node::Wai, _) if instrument.is_busy() => return Ok(Flow::Wait(For::Operations)),
        _ => {}
    }
    Ok(Flow::Done)
}
