//! `ROUTe`: switches, duties, scan lists.

use super::{microseconds, seconds, written};
use crate::jig::board::Board;
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::jig::sensor::{describe, is_sampled};
use crate::jig::sweep::UNKNOWN;
use crate::wire::channel_list::ChannelList;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::message;
use crate::wire::number::Unit::Second;
use crate::wire::parameters::Parameters;
use crate::wire::preamble::SCAN_MAX;
use crate::wire::response::Response;
use crate::wire::tree::Node;
use heapless::Vec;

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    match (unit.node, unit.query) {
        (Node::Close | Node::Open, true) => {
            let list = parameters.channels()?;
            parameters.finish()?;
            for channel in list.channels() {
                let closed = instrument.switches.is_closed(channel, &instrument.board)?;
                written(response.boolean(closed == (unit.node == Node::Close)))?;
            }
            Ok(())
        }
        (Node::Close, false) => {
            let list = parameters.channels()?;
            parameters.finish()?;
            for channel in list.channels() {
                instrument.switches.check_close(channel, &instrument.board)?;
            }
            switch(instrument, &list, true);
            Ok(())
        }
        (Node::Open, false) => {
            let list = parameters.channels()?;
            parameters.finish()?;
            for channel in list.channels() {
                instrument.switches.is_closed(channel, &instrument.board)?;
            }
            switch(instrument, &list, false);
            Ok(())
        }
        (Node::OpenAll, _) => {
            parameters.finish()?;
            instrument.open_all();
            Ok(())
        }
        (Node::Duty, true) => {
            let channel = single(&mut parameters)?;
            parameters.finish()?;
            let (on_us, rest_us) =
                instrument.switches.duty(channel, &instrument.board)?.limits_us();
            written(response.number(seconds(on_us)))?;
            written(response.number(seconds(rest_us)))
        }
        (Node::Duty, false) => {
            let on_s = parameters.numeric(Second)?.resolve(0.0..=3600.0, 0.0)?;
            let rest_s = parameters.numeric(Second)?.resolve(0.0..=3600.0, 0.0)?;
            let list = parameters.channels()?;
            parameters.finish()?;
            for channel in list.channels() {
                instrument.switches.duty(channel, &instrument.board)?;
            }
            for channel in list.channels() {
                instrument.set_duty(channel, microseconds(on_s), microseconds(rest_s));
            }
            Ok(())
        }
        (_, true) => {
            parameters.finish()?;
            let sweep = instrument.captures.sweep(super::unit(unit.suffix));
            written(response.channels(sweep.channels.iter().copied()))
        }
        (_, false) => {
            let list = parameters.channels()?;
            parameters.finish()?;
            let mut channels = Vec::<u16, SCAN_MAX>::new();
            for channel in list.channels() {
                describe(instrument.board.channels(), channel)
                    .filter(|d| is_sampled(d.kind))
                    .ok_or(UNKNOWN)?;
                channels
                    .push(channel)
                    .map_err(|_| ErrorCode::TooMuchData.because("16 channels at most"))?;
            }
            instrument.captures.sweep_mut(super::unit(unit.suffix)).channels = channels;
            Ok(())
        }
    }
}

/// A list of exactly one channel.
pub fn single(parameters: &mut Parameters<'_>) -> Result<u16, Error> {
    let list = parameters.channels()?;
    let mut channels = list.channels();
    match (channels.next(), channels.next()) {
        (Some(channel), None) => Ok(channel),
        _ => Err(ErrorCode::DataOutOfRange.because("one channel at a time")),
    }
}

fn switch<B: Board>(instrument: &mut Instrument<B>, list: &ChannelList<'_>, closed: bool) {
    for channel in list.channels() {
        instrument.set_switch(channel, closed);
    }
}
