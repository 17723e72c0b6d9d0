//! Preambles and blocks of samples.

use super::Flow;
use crate::jig::board::{Board, Unit};
use crate::jig::captures::Captures;
use crate::jig::instrument::Instrument;
use crate::jig::output::Stream;
use crate::jig::sensor::describe;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::limits::SEALED_BLOCK_MAX;
use crate::wire::preamble::{Preamble, State};
use crate::wire::refusal::Refusal;
use crate::wire::tree::query;
use crate::wire::unit::Reply;

/// Bytes that are copied at once.
const COPIED: usize = 256;

/// Answers with a piece of a block, or with all of it. An unsealed line has it streamed out of the
/// memory.
///
/// # Errors
/// 136 when the capture is not done, 137 when another has replaced it; -222 for a piece beyond its
/// end, or of a sealed line too large; -430 when it does not fit.
pub fn block(
    captures: &Captures,
    wanted: &query::Fetch,
    sealed: bool,
    answer: &mut impl Reply,
) -> Result<Flow, Error> {
    let unit = wanted.unit;
    let capture = captures.capture(unit);
    if !matches!(capture.state(), State::Done | State::Aborted) {
        return Err(Refusal::CaptureUnfinished.into());
    }
    let (id, offset, bytes) = match &wanted.piece {
        Some(piece) => (piece.id, piece.offset as usize, piece.bytes as usize),
        None => (capture.id(), 0, capture.bytes()),
    };
    if id != capture.id() {
        return Err(Refusal::CaptureReplaced.into());
    }
    if offset > capture.bytes() {
        return Err(ErrorCode::DataOutOfRange.because("beyond the end of the block"));
    }
    if sealed && bytes > SEALED_BLOCK_MAX {
        return Err(ErrorCode::DataOutOfRange.because("ask for a smaller piece"));
    }
    let length = bytes.min(capture.bytes() - offset);
    answer.begin_block(length)?;
    if !sealed {
        return Ok(Flow::Stream(Stream { unit, offset, end: offset + length }));
    }
    let mut piece = [0; COPIED];
    let (mut at, end) = (offset, offset + length);
    while at < end {
        let wanted = (end - at).min(piece.len());
        let read = captures.read(unit, at, &mut piece[..wanted]);
        answer.continue_block(&piece[..read])?;
        at += read.max(1);
    }
    Ok(Flow::Done)
}

/// What goes with a capture's block.
pub fn preamble<B: Board>(instrument: &Instrument<B>, unit: Unit) -> Preamble {
    let capture = instrument.captures.capture(unit);
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
