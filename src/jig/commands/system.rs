//! `SYSTem`: errors, versions, the clock, the silence limit, sealed mode, channels.

use super::{microseconds, seconds, written};
use crate::jig::board::Board;
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::jig::sensor::describe;
use crate::wire::PROTOCOL;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::message;
use crate::wire::number::Unit::Second;
use crate::wire::parameters::Parameters;
use crate::wire::response::Response;
use crate::wire::scan::Element;
use crate::wire::tree::Node;

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    match (unit.node, unit.query) {
        (Node::Silence, false) => {
            let limit_s = parameters.numeric(Second)?.resolve(0.1..=60.0, 5.0)?;
            parameters.finish()?;
            instrument.silence_us = microseconds(limit_s);
            return Ok(());
        }
        (Node::Silence, true) => {
            let bound = parameters.bound()?;
            parameters.finish()?;
            let limit_s = match bound {
                Some(bound) => bound.resolve(0.1..=60.0, 5.0)?,
                None => seconds(instrument.silence_us),
            };
            return written(response.number(limit_s));
        }
        (Node::ChannelDescribe, _) => {
            let channel = one_channel(&mut parameters)?;
            parameters.finish()?;
            let description = describe(instrument.board.channels(), channel)
                .ok_or(ErrorCode::DataOutOfRange.because("no such channel"))?;
            return written(description.write(response));
        }
        _ => parameters.finish()?,
    }
    match unit.node {
        Node::ErrorNext => {
            let error = instrument.status.next_error();
            written(response.text(format_args!("{error}")))
        }
        Node::ErrorCount => {
            let count = instrument.status.error_count();
            written(response.integer(count as u32))
        }
        Node::Version => written(response.text(format_args!("1999.0"))),
        Node::Protocol => written(response.text(format_args!("{PROTOCOL}"))),
        Node::Clock => written(response.integer(instrument.board.now_us())),
        Node::SealEnd => {
            instrument.make_safe();
            instrument.session.end();
            Ok(())
        }
        Node::SealState => written(response.boolean(instrument.session.is_sealed())),
        Node::ChannelCatalog => {
            let channels = instrument.board.channels().iter().map(|d| d.channel);
            written(response.channels(channels))
        }
        _ => Ok(()),
    }
}

/// One channel, as a number or as a list of one.
fn one_channel(parameters: &mut Parameters<'_>) -> Result<u16, Error> {
    if matches!(parameters.clone().element()?, Element::Expression(_)) {
        return super::route::single(parameters);
    }
    Ok(parameters.integer(0..=i64::from(u16::MAX))? as u16)
}
