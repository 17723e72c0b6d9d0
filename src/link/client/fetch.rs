//! Captures: set up, asked for, fetched piece by piece.

use super::{CaptureSetup, Captured, Jig, LinkError, senseless, units};
use crate::wire::SEALED_BLOCK_MAX;
use crate::wire::answers::{Block, Piece};
use crate::wire::checksum::crc32;
use crate::wire::preamble::{Preamble, State};
use crate::wire::request::Request;
use crate::wire::suffix::{CaptureUnit, Suffix};
use crate::wire::tree::{command, query};

/// More than any jig's capture memory, in bytes.
const BLOCK_MAX: u64 = 1 << 24;

impl Jig {
    /// Sets a capture up and arms it. `unit` is 1 for the fast one, 2 for the watch.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn capture(&mut self, unit: u8, setup: &CaptureSetup) -> Result<(), LinkError> {
        self.send(&setup.request(capture_unit(unit)))
    }

    /// Arms a capture and has units carried out with it: nothing that the line does can come
    /// between the two.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn capture_with<R: Request + ?Sized>(
        &mut self,
        unit: u8,
        setup: &CaptureSetup,
        request: &R,
    ) -> Result<(), LinkError> {
        self.send(&(setup.request(capture_unit(unit)), request))
    }

    /// Ends a capture; what it took is kept.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn abort_capture(&mut self, unit: u8) -> Result<(), LinkError> {
        self.send(&command::Abort { unit: capture_unit(unit) })
    }

    /// How far a capture has come.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn capture_state(&mut self, unit: u8) -> Result<Preamble, LinkError> {
        self.ask(&query::FetchPreamble { unit: capture_unit(unit) })
    }

    /// Fetches a finished capture. The pieces in which it comes grow smaller on a bad line.
    ///
    /// # Errors
    /// [`LinkError::Unfinished`]; else see [`Jig::ask`].
    pub fn fetch(&mut self, unit: u8) -> Result<Captured, LinkError> {
        let preamble = self.capture_state(unit)?;
        if !matches!(preamble.state, State::Done | State::Aborted) {
            return Err(LinkError::Unfinished { unit });
        }
        if preamble.interval_us == 0 {
            return Err(senseless(&format!("FETC{unit}:PRE?"), b"scans with no time between them"));
        }
        let block = self.fetch_block(unit, &preamble)?;
        let counts = block.chunks_exact(2).map(|pair| i16::from_le_bytes([pair[0], pair[1]]));
        Ok(Captured { counts: counts.collect(), preamble })
    }

    fn fetch_block(&mut self, unit: u8, preamble: &Preamble) -> Result<Vec<u8>, LinkError> {
        let length = u64::from(preamble.points) * preamble.columns.len() as u64 * 2;
        let too_long = || senseless(&format!("FETC{unit}:PRE?"), b"more samples than a jig has");
        let length = usize::try_from(length.min(BLOCK_MAX + 1)).unwrap_or(usize::MAX);
        if length as u64 > BLOCK_MAX {
            return Err(too_long());
        }
        let mut block = Vec::with_capacity(length);
        while block.len() < length {
            let wanted = self.chunk_size.bytes.min(length - block.len());
            let (offset, bytes) = (block.len() as u32, wanted as u32);
            let piece = Some(Piece { id: preamble.id, offset, bytes });
            let request = query::Fetch { unit: capture_unit(unit), piece };
            let answer = if self.chunk_size.is_smallest() || self.session.is_beside() {
                Some(self.ask(&request)?)
            } else {
                self.ask_once(&request)?
            };
            let Some(Block(piece)) = answer else {
                self.chunk_size.shrink();
                continue;
            };
            if piece.len() != wanted {
                return Err(senseless(&units(&request)?, &piece));
            }
            block.extend_from_slice(&piece);
            self.chunk_size.grow();
        }
        if crc32(&block) != preamble.crc {
            return Err(senseless(
                &format!("FETC{unit}?"),
                b"samples that do not fit their checksum",
            ));
        }
        Ok(block)
    }
}

/// The captures are counted from 1.
fn capture_unit(unit: u8) -> CaptureUnit {
    CaptureUnit::from_number(unit)
}

/// How many bytes are fetched at once: halved when a piece comes damaged, doubled after some that
/// came well.
#[derive(Clone, Copy, Debug)]
pub(super) struct ChunkSize {
    bytes: usize,
    good: u32,
}

impl ChunkSize {
    const SMALLEST: usize = 128;
    const GOOD_TO_GROW: u32 = 16;

    fn is_smallest(self) -> bool {
        self.bytes == Self::SMALLEST
    }

    fn shrink(&mut self) {
        self.bytes = (self.bytes / 2).max(Self::SMALLEST);
        self.good = 0;
    }

    fn grow(&mut self) {
        self.good += 1;
        if self.good >= Self::GOOD_TO_GROW {
            self.bytes = (self.bytes * 2).min(SEALED_BLOCK_MAX);
            self.good = 0;
        }
    }
}

impl Default for ChunkSize {
    fn default() -> Self {
        ChunkSize { bytes: SEALED_BLOCK_MAX, good: 0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_shrink_and_grow_within_bounds() {
        let mut size = ChunkSize::default();
        for _ in 0..20 {
            size.shrink();
        }
        assert!(size.is_smallest());
        for _ in 0..20 * ChunkSize::GOOD_TO_GROW {
            size.grow();
        }
        assert_eq!(size.bytes, SEALED_BLOCK_MAX);
    }
}
