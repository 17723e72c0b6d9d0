//! Bytes in, lines out.

use super::limits::LINE_MAX;

/// What a terminator has ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Received<'a> {
    /// A line, terminator and a carriage return before it taken off; may be empty.
    Whole(&'a [u8]),
    /// A line of more than [`LINE_MAX`] bytes, thrown away: error -363.
    TooLong,
    /// A line of which a byte came damaged or was lost, thrown away whole: error -360.
    Damaged,
}

/// Cuts a stream of bytes into lines.
///
/// Every newline ends a line: program data of this language holds no blocks.
#[derive(Clone, Debug)]
pub struct Framer {
    /// One byte more than a line has, for the carriage return.
    buffer: [u8; LINE_MAX + 1],
    length: usize,
    overrun: bool,
    damaged: bool,
}

impl Framer {
    /// A framer at the start of a line.
    pub const fn new() -> Self {
        Framer { buffer: [0; LINE_MAX + 1], length: 0, overrun: false, damaged: false }
    }

    /// Takes the next byte in; gives the line that it ends, if it ends one.
    pub fn push(&mut self, byte: u8) -> Option<Received<'_>> {
        if byte != b'\n' {
            match self.buffer.get_mut(self.length) {
                Some(place) => *place = byte,
                None => self.overrun = true,
            }
            self.length = (self.length + 1).min(self.buffer.len());
            return None;
        }
        let line = &self.buffer[..self.length];
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        let too_long = self.overrun || line.len() > LINE_MAX;
        let damaged = self.damaged;
        (self.length, self.overrun, self.damaged) = (0, false, false);
        Some(match (damaged, too_long) {
            (true, _) => Received::Damaged,
            (false, true) => Received::TooLong,
            (false, false) => Received::Whole(line),
        })
    }

    /// Takes note that a byte here came damaged, or was lost: the line that it stood in, and the next
    /// one too if it was the newline between them, is thrown away.
    pub fn damage(&mut self) {
        self.damaged = true;
    }

    /// Forgets the bytes of a line that has not ended (the port was closed).
    pub fn reset(&mut self) {
        (self.length, self.overrun, self.damaged) = (0, false, false);
    }
}

impl Default for Framer {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lines(bytes: &[u8]) -> Vec<Option<Vec<u8>>> {
        let mut framer = Framer::new();
        let mut out = Vec::new();
        for &byte in bytes {
            match framer.push(byte) {
                Some(Received::Whole(line)) => out.push(Some(line.to_vec())),
                Some(Received::TooLong | Received::Damaged) => out.push(None),
                None => {}
            }
        }
        out
    }

    #[test]
    fn takes_off_one_carriage_return() {
        assert_eq!(
            lines(b"*IDN?\r\n\n\r\na\r\r\nrest"),
            [&b"*IDN?"[..], b"", b"", b"a\r"].map(|line| Some(line.to_vec()))
        );
    }

    #[test]
    fn the_limit_leaves_the_terminator_out() {
        for (length, ending, whole) in [
            (LINE_MAX, "\n", true),
            (LINE_MAX, "\r\n", true),
            (LINE_MAX + 1, "\n", false),
            (LINE_MAX + 1, "\r\n", false),
            (5000, "\n", false),
        ] {
            let mut bytes = vec![b'x'; length];
            bytes.extend_from_slice(ending.as_bytes());
            bytes.extend_from_slice(b"*CLS\n");
            let lines = lines(&bytes);
            assert_eq!(lines[0].is_some(), whole, "{length} bytes");
            assert_eq!(lines[1].as_deref(), Some(&b"*CLS"[..]), "the next line is sound");
        }
    }

    proptest! {
        /// The framer against a plain split of the whole stream.
        #[test]
        fn agrees_with_a_split(
            parts in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..700), 0..6)
        ) {
            let stream = parts.join(&b'\n');
            let mut expected: Vec<_> = stream
                .split(|&byte| byte == b'\n')
                .map(|line| line.strip_suffix(b"\r").unwrap_or(line))
                .map(|line| (line.len() <= LINE_MAX).then(|| line.to_vec()))
                .collect();
            expected.pop();
            prop_assert_eq!(lines(&stream), expected);
        }
    }
}
