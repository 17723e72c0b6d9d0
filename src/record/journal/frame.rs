//! The frames of a journal: each carries a mark by which it is found again after damage, its number,
//! and a checksum.

use crc::{CRC_32_ISO_HDLC, Crc};

const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// What a frame begins with. No text holds these bytes, and whatever changes line ends or takes off
/// the eighth bit destroys them.
const MARK: &[u8; 8] = b"\x89MBJ\r\n\x1a\n";

/// Mark, number, length, checksum, kind.
pub const HEAD: usize = MARK.len() + 4 + 4 + 4 + 1;

/// No payload is longer; a longer length is damage.
const LONGEST: usize = 1 << 20;

/// A frame that is whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Frame<'b> {
    /// Its place among all that were written, from 0.
    pub number: u32,
    /// What it holds.
    pub kind: u8,
    /// The content.
    pub payload: &'b [u8],
}

fn checksum(numbers: &[u8], kind: u8, payload: &[u8]) -> u32 {
    let mut digest = CRC.digest();
    digest.update(numbers);
    digest.update(&[kind]);
    digest.update(payload);
    digest.finalize()
}

/// The bytes of a frame.
pub fn encode(frame: &Frame<'_>) -> Vec<u8> {
    let length = frame.payload.len() as u32;
    let numbers = [frame.number.to_le_bytes(), length.to_le_bytes()].concat();
    let crc = checksum(&numbers, frame.kind, frame.payload).to_le_bytes();
    [MARK, numbers.as_slice(), &crc, &[frame.kind], frame.payload].concat()
}

/// The frame that begins with the first byte, and how long it is.
fn decode(bytes: &[u8]) -> Option<(Frame<'_>, usize)> {
    let rest = bytes.strip_prefix(MARK)?;
    let (numbers, rest) = rest.split_at_checked(8)?;
    let (crc, rest) = rest.split_first_chunk::<4>()?;
    let (number, length) = numbers.split_first_chunk::<4>()?;
    let length = u32::from_le_bytes(length.try_into().ok()?) as usize;
    if length > LONGEST {
        return None;
    }
    let (kind, rest) = rest.split_first()?;
    let payload = rest.get(..length)?;
    if checksum(numbers, *kind, payload) != u32::from_le_bytes(*crc) {
        return None;
    }
    Some((Frame { number: u32::from_le_bytes(*number), kind: *kind, payload }, HEAD + length))
}

/// All frames that are whole, in their order, and whether anything but zeros stands beside them.
pub fn find(bytes: &[u8]) -> (Vec<Frame<'_>>, bool) {
    let mut frames = Vec::new();
    let mut damaged = false;
    let mut at = 0;
    while let Some(rest) = bytes.get(at..).filter(|rest| !rest.is_empty()) {
        if let Some((frame, length)) = decode(rest) {
            frames.push(frame);
            at += length;
            continue;
        }
        // To the next byte that may begin a mark.
        let to =
            rest.iter().skip(1).position(|byte| *byte == MARK[0]).map_or(rest.len(), |n| n + 1);
        damaged |= rest[..to].iter().any(|byte| *byte != 0);
        at += to;
    }
    (frames, damaged)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn frames_after_a_damaged_one_are_found_again() {
        let frame = |number, payload| encode(&Frame { number, kind: b'R', payload });
        let parts = [frame(0, b"one"), frame(1, b"two"), frame(2, b""), vec![0; 40]];
        let whole = parts.concat();
        let (found, damaged) = find(&whole);
        assert_eq!(found.iter().map(|f| f.number).collect::<Vec<_>>(), [0, 1, 2]);
        assert!(!damaged);
        for at in 0..whole.len() - 40 {
            let mut hurt = whole.clone();
            hurt[at] ^= 0x10;
            let (found, damaged) = find(&hurt);
            assert!(damaged, "{at}");
            let lost = (0..3).find(|&i| at < parts[..=i].concat().len()).unwrap() as u32;
            let left: Vec<u32> = found.iter().map(|f| f.number).collect();
            assert_eq!(left, (0..3).filter(|n| *n != lost).collect::<Vec<_>>(), "{at}");
        }
    }

    proptest! {
        #[test]
        fn no_bytes_make_it_fall_over(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            let _ = find(&bytes);
            let _ = find(&[MARK.as_slice(), &bytes].concat());
        }
    }
}
