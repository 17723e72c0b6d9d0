//! The checksum of a finished block, worked out piece by piece: all of it at once would hold the feed
//! up.

use crate::wire::checksum::Checksum;

/// Bytes of a piece.
const PIECE: usize = 2_048;
/// Bytes that are copied at a time.
const COPIED: usize = 128;

/// How far it has come.
#[derive(Clone, Debug)]
pub struct BlockSum {
    checksum: Checksum,
    bytes: usize,
}

impl BlockSum {
    /// Nothing summed up yet.
    pub fn new() -> Self {
        BlockSum { checksum: Checksum::new(), bytes: 0 }
    }

    /// The checksum of a block of so many bytes, if that is all.
    pub fn of_all(&self, bytes: usize) -> Option<u32> {
        (self.bytes == bytes).then(|| self.checksum.value())
    }

    /// Takes the next piece; `read` gives the bytes from an offset on, as many as fit.
    pub fn go_on(&mut self, read: impl Fn(usize, &mut [u8]) -> usize) {
        let end = self.bytes + PIECE;
        let mut copy = [0; COPIED];
        while self.bytes < end {
            let count = read(self.bytes, &mut copy);
            if count == 0 {
                return;
            }
            self.checksum.update(&copy[..count]);
            self.bytes += count;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::checksum::crc32;

    #[test]
    fn pieces_make_the_checksum_of_the_whole() {
        for length in [0, 1, PIECE - 1, PIECE, 5 * PIECE + 3] {
            let block: Vec<u8> = (0..length).map(|i| (i * 7 % 251) as u8).collect();
            let mut sum = BlockSum::new();
            let mut pieces = 0;
            while sum.of_all(length).is_none() {
                sum.go_on(|offset, into| {
                    let count = into.len().min(length - offset);
                    into[..count].copy_from_slice(&block[offset..offset + count]);
                    count
                });
                pieces += 1;
            }
            assert_eq!(sum.of_all(length), Some(crc32(&block)));
            assert_eq!(pieces, length.div_ceil(PIECE), "{length} bytes");
        }
    }
}
