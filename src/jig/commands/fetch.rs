//! `FETCh`: preambles and blocks.

use super::{Context, Flow, written};
use crate::jig::board::{Board, Unit};
use crate::jig::instrument::Instrument;
use crate::jig::output::{Answer, Stream};
use crate::jig::phase::For;
use crate::jig::sensor::describe;
use crate::wire::SEALED_BLOCK_MAX;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::message;
use crate::wire::preamble::{Preamble, State};
use crate::wire::response::Response;
use crate::wire::tree::Node;

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    context: Context,
    response: &mut Response<'_, Answer>,
) -> Result<Flow, Error> {
    let mut parameters = unit.parameters;
    let which = super::unit(unit.suffix);
    if unit.node == Node::FetchPreamble {
        parameters.finish()?;
        if instrument.captures.capture(which).crc().is_none() {
            return Ok(Flow::Wait(For::Checksum(which)));
        }
        written(preamble(instrument, which).write(response))?;
        return Ok(Flow::Done);
    }
    let piece = if parameters.more() {
        let id = parameters.integer(0..=i64::from(u32::MAX))? as u32;
        let offset = parameters.integer(0..=i64::from(u32::MAX))? as usize;
        let bytes = parameters.integer(0..=i64::from(u32::MAX))? as usize;
        Some((id, offset, bytes))
    } else {
        None
    };
    parameters.finish()?;
    let capture = instrument.captures.capture(which);
    if !matches!(capture.state(), State::Done | State::Aborted) {
        return Err(ErrorCode::DataCorruptOrStale.because("no finished capture"));
    }
    let (id, offset, bytes) = piece.unwrap_or((capture.id(), 0, capture.bytes()));
    if id != capture.id() {
        return Err(ErrorCode::DataCorruptOrStale.because("another capture has replaced it"));
    }
    if offset > capture.bytes() {
        return Err(ErrorCode::DataOutOfRange.because("beyond the end of the block"));
    }
    if context.sealed && bytes > SEALED_BLOCK_MAX {
        return Err(ErrorCode::DataOutOfRange.because("ask for a smaller piece"));
    }
    let length = bytes.min(capture.bytes() - offset);
    written(response.block_header(length))?;
    if !context.sealed {
        return Ok(Flow::Stream(Stream { unit: which, offset, end: offset + length }));
    }
    let mut piece = [0; 256];
    let (mut at, end) = (offset, offset + length);
    while at < end {
        let wanted = (end - at).min(piece.len());
        let read = instrument.captures.read(which, at, &mut piece[..wanted]);
        written(response.block_bytes(&piece[..read]))?;
        at += read.max(1);
    }
    Ok(Flow::Done)
}

/// What goes with a capture's block.
pub fn preamble<B: Board>(instrument: &Instrument<B>, which: Unit) -> Preamble {
    let capture = instrument.captures.capture(which);
    let sweep = capture.sweep();
    Preamble {
        id: capture.id(),
        state: capture.state(),
        points: capture.points(),
        interval_us: sweep.interval_us,
        average: sweep.average,
        first_us: capture.first_us(),
        trigger_us: capture.trigger_us(),
        crc: capture.crc().unwrap_or(0),
        columns: sweep
            .channels
            .iter()
            .filter_map(|&channel| describe(instrument.board.channels(), channel))
            .map(Into::into)
            .collect(),
    }
}
