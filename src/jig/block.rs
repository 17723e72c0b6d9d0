//! The block of a finished capture: its bytes, and their checksum. That is worked out piece by piece: all of
//! it at once would hold the feed up.

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

/// The bytes of a ring of counts, of which the one at `first` is the oldest, from an offset on. The ring
/// is not empty.
pub fn read(ring: &[i16], first: usize, offset: usize, into: &mut [u8]) {
    let mut at = (first + offset / 2) % ring.len();
    let (odd, whole) = into.split_at_mut((offset % 2).min(into.len()));
    if let [half] = odd {
        *half = ring[at].to_le_bytes()[1];
        at = (at + 1) % ring.len();
    }
    let (before, after) = ring.split_at(at);
    let (head, tail) = whole.split_at_mut(whole.len().min(2 * after.len()));
    put(after, head);
    put(before, tail);
}

/// Counts to bytes, as many as fit.
fn put(counts: &[i16], into: &mut [u8]) {
    let mut pairs = into.chunks_exact_mut(2);
    for (pair, count) in pairs.by_ref().zip(counts) {
        pair.copy_from_slice(&count.to_le_bytes());
    }
    let next = counts.get(into.len() / 2);
    if let ([last], Some(count)) = (into.chunks_exact_mut(2).into_remainder(), next) {
        *last = count.to_le_bytes()[0];
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::checksum::crc32;

    /// Every piece of every ring, against the bytes one by one.
    #[test]
    fn reads_from_any_byte_on() {
        let ring: [i16; 5] = [0x0100, 0x0302, 0x0504, 0x0706, 0x0908];
        for first in 0..5 {
            let counts = (0..5).map(|at| ring[(first + at) % 5]);
            let bytes: Vec<u8> = counts.flat_map(i16::to_le_bytes).collect();
            for offset in 0..10 {
                for length in 0..=10 - offset {
                    let mut into = vec![0xff; length];
                    read(&ring, first, offset, &mut into);
                    assert_eq!(into, bytes[offset..offset + length], "{first}, {offset}, {length}");
                }
            }
        }
    }

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
