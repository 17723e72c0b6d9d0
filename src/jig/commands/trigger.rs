//! `TRIGger`, `INITiate`, `ABORt`: when a capture runs.

use super::written;
use crate::jig::board::Board;
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::jig::sweep::Source;
use crate::wire::error::Error;
use crate::wire::message;
use crate::wire::response::Response;
use crate::wire::tree::Node;

const SOURCES: [(&str, Source); 4] = [
    ("IMMediate", Source::Immediate),
    ("SENT", Source::Sent),
    ("CONTact", Source::Contact),
    ("BUS", Source::Bus),
];

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    let which = super::unit(unit.suffix);
    if (unit.node, unit.query) == (Node::TriggerSource, false) {
        let source = parameters.keyword(&SOURCES)?;
        parameters.finish()?;
        instrument.captures.sweep_mut(which).source = source;
        return Ok(());
    }
    parameters.finish()?;
    let now_us = instrument.board.now_us();
    match unit.node {
        Node::TriggerSource => {
            let source = instrument.captures.sweep(which).source;
            let word =
                SOURCES.iter().find(|(_, each)| *each == source).map_or("", |(word, _)| word);
            written(response.keyword(word))
        }
        Node::Trigger => instrument.captures.trigger(which, now_us),
        Node::Initiate => {
            let begun = instrument.drive.begun();
            instrument.captures.arm(which, begun, now_us, &mut instrument.board)
        }
        _ => {
            instrument.captures.abort(which, now_us, &mut instrument.board);
            Ok(())
        }
    }
}
