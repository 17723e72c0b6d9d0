//! `DRIVe`: what goes out on the feed.

use super::written;
use crate::jig::board::Board;
use crate::jig::drive::{Alternating, Body, Command, Idle};
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::signal::dcc;
use crate::signal::pulse::Level;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::message;
use crate::wire::parameters::Parameters;
use crate::wire::response::Response;
use crate::wire::tree::Node;
use heapless::Vec;

const IDLES: [(&str, Idle); 3] =
    [("PACKet", Idle::Packets), ("HIGH", Idle::Rest(Level::High)), ("LOW", Idle::Rest(Level::Low))];
const LEVELS: [(&str, Level); 2] = [("HIGH", Level::High), ("LOW", Level::Low)];

/// How often a command may be repeated.
const REPEAT_MAX: i64 = 100;
/// The longest pulse, in microseconds.
const PULSE_MAX_US: i64 = 100_000;

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    match (unit.node, unit.query) {
        (Node::Idle, false) => {
            let idle = parameters.keyword(&IDLES)?;
            parameters.finish()?;
            instrument.drive.set_idle(idle, &mut instrument.board);
            Ok(())
        }
        (Node::Idle, true) => {
            parameters.finish()?;
            let idle = instrument.drive.idle();
            let word = IDLES.iter().find(|(_, each)| *each == idle).map_or("", |(word, _)| word);
            written(response.keyword(word))
        }
        (Node::Packet, _) => {
            let repeat = parameters.integer(1..=REPEAT_MAX)? as u8;
            let body = Body::Packet(packet(&mut parameters)?);
            instrument.send(Command { body, repeat })
        }
        (Node::Pulses, _) => {
            let repeat = parameters.integer(1..=REPEAT_MAX)? as u8;
            let body = Body::Pulses(pulses(&mut parameters)?);
            instrument.send(Command { body, repeat })
        }
        _ => {
            parameters.finish()?;
            let (count, sent) = instrument.drive.sent();
            written(response.integer(count))?;
            written(response.integer(sent.last_us))?;
            written(response.integer(sent.first_us))?;
            written(response.integer(sent.second_us))
        }
    }
}

fn packet(parameters: &mut Parameters<'_>) -> Result<dcc::Packet, Error> {
    let mut packet = dcc::Packet::new();
    // The first byte has to be there.
    loop {
        let byte = parameters.integer(0..=255)? as u8;
        packet.push(byte).map_err(|_| ErrorCode::TooMuchData.because("6 bytes at most"))?;
        if !parameters.more() {
            break;
        }
    }
    if !dcc::is_whole(&packet) {
        return Err(ErrorCode::IllegalParameter.because("3 to 6 bytes, the last their checksum"));
    }
    Ok(packet)
}

fn pulses(parameters: &mut Parameters<'_>) -> Result<Alternating, Error> {
    let first = parameters.keyword(&LEVELS)?;
    let mut durations_us = Vec::new();
    loop {
        durations_us
            .push(parameters.integer(1..=PULSE_MAX_US)? as u32)
            .map_err(|_| ErrorCode::TooMuchData.because("160 pulses at most"))?;
        if !parameters.more() {
            return Ok(Alternating { first, durations_us });
        }
    }
}
