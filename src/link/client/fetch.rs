//! Captures: set up, asked for, fetched piece by piece.

use super::{CaptureSetup, Captured, Jig, LinkError, senseless};
use crate::wire::SEALED_BLOCK_MAX;
use crate::wire::checksum::crc32;
use crate::wire::preamble::{Preamble, State};

/// More than any jig's capture memory, in bytes.
const BLOCK_MAX: u64 = 1 << 24;

impl Jig {
    /// Sets a capture up and arms it. `unit` is 1 for the fast one, 2 for the watch.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn capture(&mut self, unit: u8, setup: &CaptureSetup) -> Result<(), LinkError> {
        self.send(&setup.units(unit))
    }

    /// Arms a capture and has units carried out with it: nothing that the line does can come
    /// between the two.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn capture_with(
        &mut self,
        unit: u8,
        setup: &CaptureSetup,
        units: &str,
    ) -> Result<(), LinkError> {
        self.send(&format!("{};:{units}", setup.units(unit)))
    }

    /// Ends a capture; what it took is kept.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn abort_capture(&mut self, unit: u8) -> Result<(), LinkError> {
        self.send(&format!("ABOR{unit}"))
    }

    /// How far a capture has come.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn capture_state(&mut self, unit: u8) -> Result<Preamble, LinkError> {
        let units = format!("FETC{unit}:PRE?");
        let said = self.ask(&units)?;
        Preamble::parse(said.as_bytes()).map_err(|_| senseless(&units, said.as_bytes()))
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
            let units = format!("FETC{unit}? {},{},{wanted}", preamble.id, block.len());
            let answer = if self.chunk_size.is_smallest() {
                Some(self.session.exchange(&units, core::time::Duration::ZERO)?)
            } else {
                self.session.exchange_once(&units)?
            };
            let Some(answer) = answer else {
                self.chunk_size.shrink();
                continue;
            };
            let answer = self.check(&units, answer)?;
            let piece = definite_block(&answer.response)
                .filter(|piece| piece.len() == wanted)
                .ok_or_else(|| senseless(&units, &answer.response))?;
            block.extend_from_slice(piece);
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

/// The bytes of a definite-length block (IEEE 488.2, 8.7.9) that is all of a response.
fn definite_block(response: &[u8]) -> Option<&[u8]> {
    let (digits, rest) = response.strip_prefix(b"#")?.split_first()?;
    let digits = usize::from(digits.checked_sub(b'0')?);
    let (length, bytes) = rest.split_at_checked(digits)?;
    let length: usize = std::str::from_utf8(length).ok()?.parse().ok()?;
    (bytes.len() == length).then_some(bytes)
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

    /// IEEE 488.2, 8.7.9: `#`, how many digits, the digits, the bytes.
    #[test]
    fn reads_blocks() {
        assert_eq!(definite_block(b"#10"), Some(&b""[..]));
        assert_eq!(definite_block(b"#15\n;#A,"), Some(&b"\n;#A,"[..]));
        assert_eq!(definite_block(b"#212abcdefghijkl"), Some(&b"abcdefghijkl"[..]));
        for wrong in
            [&b""[..], b"#", b"#1", b"#0", b"#15abcd", b"#15abcdef", b"#A5", b"#2-1", b"15abcde"]
        {
            assert_eq!(definite_block(wrong), None, "{wrong:?}");
        }
    }

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
