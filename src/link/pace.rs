//! How fast a simulated line carries bytes.

use std::collections::VecDeque;
use std::io::Read;

/// The speed of a simulated line; the same both ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pace {
    /// Bytes a second.
    pub bytes_per_second: u32,
    /// From the sender to the receiver, in microseconds, on top of the time on the line.
    pub latency_us: u32,
}

impl Pace {
    /// USB serial at full speed: about 1 MB/s, a frame of 1 ms.
    pub const USB: Pace = Pace { bytes_per_second: 1_000_000, latency_us: 1_000 };

    /// A UART at 115200 8N1: ten bits a byte.
    pub const UART: Pace = Pace { bytes_per_second: 11_520, latency_us: 100 };

    fn byte_ns(self) -> u64 {
        1_000_000_000 / u64::from(self.bytes_per_second.max(1))
    }
}

/// Bytes that arrive together, as from a packet of USB or the buffer of a UART.
const TOGETHER: usize = 64;

/// One direction of a line: bytes come out in order, each in its time.
#[derive(Debug, Default)]
pub struct OneWay {
    pace: Option<Pace>,
    /// When the line is free for the next byte, in nanoseconds.
    free_ns: u64,
    /// What is on the way.
    bytes: VecDeque<u8>,
    /// When so many bytes of it have arrived, in nanoseconds.
    pieces: VecDeque<(u64, usize)>,
}

impl OneWay {
    /// A direction at a pace; `None` is at once.
    pub fn new(pace: Option<Pace>) -> Self {
        OneWay { pace, ..OneWay::default() }
    }

    /// Puts bytes on the line.
    pub fn put(&mut self, now_us: u64, bytes: &[u8]) {
        let (byte_ns, latency_ns) =
            self.pace.map_or((0, 0), |p| (p.byte_ns(), u64::from(p.latency_us) * 1000));
        self.free_ns = self.free_ns.max(now_us * 1000);
        self.bytes.extend(bytes);
        let together = if self.pace.is_some() { TOGETHER } else { bytes.len().max(1) };
        for piece in bytes.chunks(together) {
            self.free_ns += byte_ns * piece.len() as u64;
            self.pieces.push_back((self.free_ns + latency_ns, piece.len()));
        }
    }

    /// Takes bytes that have arrived, at most `into.len()`.
    pub fn take(&mut self, now_us: u64, into: &mut [u8]) -> usize {
        let mut count = 0;
        while let Some((arrived_ns, length)) = self.pieces.front_mut() {
            if *arrived_ns > now_us * 1000 {
                break;
            }
            let fits = (*length).min(into.len() - count);
            count += fits;
            *length -= fits;
            if *length > 0 {
                break;
            }
            self.pieces.pop_front();
        }
        // All bytes of the pieces are there, so this cannot fail.
        self.bytes.read_exact(&mut into[..count]).map_or(0, |()| count)
    }

    /// Puts back what the receiver had no room for.
    pub fn give_back(&mut self, bytes: &[u8]) {
        if !bytes.is_empty() {
            self.pieces.push_front((0, bytes.len()));
            bytes.iter().rev().for_each(|&byte| self.bytes.push_front(byte));
        }
    }

    /// When the next bytes arrive, in microseconds; `u64::MAX` when none are on the way.
    pub fn next_us(&self) -> u64 {
        self.pieces.front().map_or(u64::MAX, |(arrived_ns, _)| arrived_ns.div_ceil(1000))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_uart_carries_11520_bytes_a_second() {
        let mut line = OneWay::new(Some(Pace { latency_us: 0, ..Pace::UART }));
        line.put(0, &[7; 5760]);
        line.put(100, &[8; 5760]);
        let mut bytes = [0; 20_000];
        let half = line.take(500_000, &mut bytes);
        assert_eq!(half, 5760, "what arrives together divides it");
        assert_eq!(line.take(999_990, &mut bytes[half..]), 5760 - TOGETHER);
        assert_eq!(line.take(1_000_000, &mut bytes), TOGETHER);
        assert_eq!(line.next_us(), u64::MAX);
    }

    #[test]
    fn latency_delays_the_bytes() {
        let mut line = OneWay::new(Some(Pace::USB));
        line.put(10, b"ab");
        assert_eq!(line.next_us(), 1012);
        let mut bytes = [0; 8];
        assert_eq!(line.take(1011, &mut bytes), 0);
        assert_eq!(line.take(1012, &mut bytes), 2);
    }

    #[test]
    fn without_a_pace_all_comes_at_once_and_in_order() {
        let mut line = OneWay::new(None);
        line.put(5, b"abc");
        line.put(5, b"de");
        let mut bytes = [0; 4];
        assert_eq!(line.take(5, &mut bytes), 4);
        line.give_back(&bytes[2..]);
        assert_eq!(line.take(5, &mut bytes), 3);
        assert_eq!(&bytes[..3], b"cde");
    }

    #[test]
    fn a_long_stream_comes_through_unchanged() {
        let mut line = OneWay::new(Some(Pace::USB));
        let (mut sent, mut got) = (Vec::new(), Vec::new());
        for now_us in 0..20_000u32 {
            let bytes: Vec<u8> = (0..now_us % 7).map(|i| (now_us * 31 + i) as u8).collect();
            line.put(now_us.into(), &bytes);
            sent.extend(bytes);
            let mut some = [0; 97];
            let count = line.take(now_us.into(), &mut some[..(now_us % 98) as usize]);
            let kept = count / 2;
            line.give_back(&some[kept..count]);
            got.extend_from_slice(&some[..kept]);
        }
        let mut rest = vec![0; sent.len()];
        let count = line.take(u64::from(u32::MAX), &mut rest);
        got.extend_from_slice(&rest[..count]);
        assert_eq!(got, sent);
    }
}
