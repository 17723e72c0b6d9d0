//! Finds the answer to one sealed line in whatever comes.
//!
//! The trailer at the end of an answer names its line, and its checksum covers the answer from the
//! first byte on. So the answer is found from its end: no length in it has to be believed, and
//! nothing that came before it can pass for a part of it.

use crate::wire::SEALED_BLOCK_MAX;
use crate::wire::seal::{Trailer, TrailerText};

/// The answer to a sealed line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The response data, without the trailer; empty when there was none.
    pub response: Vec<u8>,
    /// How many units of the line were carried out.
    pub carried_out: u16,
    /// How many errors it caused.
    pub errors: u16,
}

/// What the inbox makes of what has come so far.
#[derive(Debug, PartialEq, Eq)]
pub enum Find {
    /// The answer.
    Answer(Answer),
    /// The end of the answer, but something in it was lost or damaged.
    Damaged,
    /// Nothing yet.
    Nothing,
}

/// More than the longest answer: a block, the text of other units, and a trailer.
const KEPT: usize = SEALED_BLOCK_MAX + 4096;

/// How many line starts are tried from either end, as the place where an answer may begin.
const STARTS_TRIED: usize = 8;

/// What has come since the line was sent.
#[derive(Debug, Default)]
pub struct Inbox {
    bytes: Vec<u8>,
    /// Up to here no newline is left to be looked at.
    searched: usize,
    /// Where the line was sent again: what came before may be the beginning of its answer, or the
    /// answer begins here.
    repeats: Vec<usize>,
    stale: u64,
}

impl Inbox {
    /// Forgets all that has come.
    pub fn clear(&mut self) {
        self.bytes.clear();
        self.searched = 0;
        self.repeats.clear();
    }

    /// How many answers to earlier lines have come so far: the jig, or what is between, is behind.
    pub fn stale(&self) -> u64 {
        self.stale
    }

    /// The line is sent again.
    pub fn repeat(&mut self) {
        self.repeats.push(self.bytes.len());
    }

    /// Forgets the first bytes.
    fn forget(&mut self, length: usize) {
        self.bytes.drain(..length);
        self.repeats.retain_mut(|at| at.checked_sub(length).map(|left| *at = left).is_some());
    }

    /// Takes bytes in and looks for the end of the answer to line `number` of `session`. Returns
    /// what it is, and forgets all up to there. Answers to other lines are thrown away.
    pub fn take(&mut self, bytes: &[u8], session: u32, number: u32) -> Find {
        self.bytes.extend_from_slice(bytes);
        while let Some(length) = self.bytes[self.searched..].iter().position(|&b| b == b'\n') {
            let end = self.searched + length;
            self.searched = end + 1;
            let Some(at) = trailer_in(&self.bytes[..end]) else { continue };
            let says = |start: String| self.bytes[at..end].starts_with(start.as_bytes());
            let ours = says(format!("SEAL {session},{number},"));
            let stale = !ours && says(format!("SEAL {session},"));
            let found = ours.then(|| answer_in(&self.bytes[..end], at, &self.repeats));
            self.stale += u64::from(stale);
            self.forget(end + 1);
            self.searched = 0;
            if let Some(answer) = found {
                return answer.map_or(Find::Damaged, Find::Answer);
            }
        }
        self.searched = self.bytes.len();
        if self.bytes.len() > 2 * KEPT {
            self.forget(self.bytes.len() - KEPT);
            self.searched = self.bytes.len();
        }
        Find::Nothing
    }
}

/// Where the trailer begins that ends a line, if one does.
fn trailer_in(line: &[u8]) -> Option<usize> {
    // Quick, since most newlines are sample bytes.
    let crc = line.len().checked_sub(10)?;
    if !line[crc..].starts_with(b"#H") {
        return None;
    }
    let window = line.len().saturating_sub(TrailerText::new().capacity());
    Some(window + line[window..].windows(5).rposition(|w| w == b"SEAL ")?)
}

/// The answer whose trailer begins at `at`: it begins at a start of a line, or where the line was sent
/// again, and the checksum fits from there.
fn answer_in(bytes: &[u8], at: usize, repeats: &[usize]) -> Option<Answer> {
    let starts = || (0..at).filter(|&i| bytes[i] == b'\n').map(|i| i + 1);
    let first = core::iter::once(0).chain(starts()).take(STARTS_TRIED);
    let last = starts().rev().take(STARTS_TRIED);
    let repeats = repeats.iter().copied().filter(|&start| start <= at);
    first.chain(last).chain(repeats).find_map(|start| {
        let (response, trailer) = Trailer::split(&bytes[start..], at - start)?;
        let Trailer { carried_out, errors, .. } = trailer;
        Some(Answer { response: response.to_vec(), carried_out, errors })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SESSION: u32 = 7;
    const NUMBER: u32 = 41;

    /// The answer to a line, as the jig writes it.
    fn written(number: u32, response: &[u8]) -> Vec<u8> {
        let trailer = Trailer { session: SESSION, number, carried_out: 1, errors: 0 };
        [response, trailer.after(response).as_bytes()].concat()
    }

    fn take(inbox: &mut Inbox, bytes: &[u8]) -> Find {
        inbox.take(bytes, SESSION, NUMBER)
    }

    fn answer(response: &[u8]) -> Find {
        Find::Answer(Answer { response: response.to_vec(), carried_out: 1, errors: 0 })
    }

    #[test]
    fn finds_answers_with_and_without_response() {
        for response in [&b""[..], b"1.5E+0", b"#15\n\n\n\n\n", b"1;2;\"a;b\""] {
            assert_eq!(take(&mut Inbox::default(), &written(NUMBER, response)), answer(response));
        }
    }

    #[test]
    fn finds_it_byte_by_byte() {
        let mut inbox = Inbox::default();
        let whole = written(NUMBER, b"#216SEAL 7,41,1,0,#H\n");
        let (last, before) = whole.split_last().unwrap();
        for byte in before {
            assert_eq!(take(&mut inbox, &[*byte]), Find::Nothing);
        }
        assert_eq!(take(&mut inbox, &[*last]), answer(b"#216SEAL 7,41,1,0,#H\n"));
    }

    #[test]
    fn throws_away_what_comes_before() {
        let mut inbox = Inbox::default();
        for before in [&b"\n\xff\0noise\n"[..], &written(NUMBER - 1, b"late"), b"half\r\n"] {
            assert_eq!(take(&mut inbox, before), Find::Nothing);
        }
        assert_eq!(take(&mut inbox, &written(NUMBER, b"right")), answer(b"right"));
        assert_eq!(take(&mut inbox, &written(NUMBER - 1, b"stale")), Find::Nothing);
        let other = Trailer { session: SESSION + 1, number: NUMBER, carried_out: 1, errors: 0 };
        assert_eq!(take(&mut inbox, other.after(b"").as_bytes()), Find::Nothing);
    }

    #[test]
    fn tells_a_damaged_answer_from_none() {
        let mut damaged = written(NUMBER, b"1.5E+0");
        damaged[2] = b'6';
        assert_eq!(take(&mut Inbox::default(), &damaged), Find::Damaged);
        let cut = &written(NUMBER, b"1.5E+0")[1..];
        assert_eq!(take(&mut Inbox::default(), cut), Find::Damaged);
    }

    #[test]
    fn a_block_that_never_ends_is_forgotten() {
        let mut inbox = Inbox::default();
        for _ in 0..1000 {
            assert_eq!(take(&mut inbox, &[b'7'; 1000]), Find::Nothing);
        }
        assert!(inbox.bytes.len() <= 2 * KEPT);
        take(&mut inbox, b"\n");
        assert_eq!(take(&mut inbox, &written(NUMBER, b"1")), answer(b"1"));
    }

    #[test]
    fn a_flood_of_newlines_is_forgotten() {
        let mut inbox = Inbox::default();
        for _ in 0..1000 {
            assert_eq!(take(&mut inbox, &[b'\n'; 1000]), Find::Nothing);
        }
        assert_eq!(take(&mut inbox, &written(NUMBER, b"1")), answer(b"1"));
    }

    proptest! {
        /// A cyclic code of 32 bits finds every burst of at most 32 bits; of the rest it lets
        /// through one in 2³².
        #[test]
        fn no_damage_passes_for_an_answer(
            response in prop::collection::vec(any::<u8>(), 0..200),
            damages in prop::collection::vec((any::<prop::sample::Index>(), 0u8..3, any::<u8>()), 1..6),
        ) {
            let mut bytes = written(NUMBER, &response);
            for (place, what, byte) in damages {
                let at = place.index(bytes.len());
                match what {
                    0 => { bytes.remove(at); }
                    1 => bytes.insert(at, byte),
                    _ => bytes[at] = byte,
                }
            }
            match take(&mut Inbox::default(), &bytes) {
                Find::Answer(answer) => prop_assert_eq!(answer.response, response),
                Find::Damaged | Find::Nothing => {}
            }
        }

        #[test]
        fn garbage_never_panics(pieces in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..300), 0..8)) {
            let mut inbox = Inbox::default();
            for piece in pieces {
                prop_assert_eq!(take(&mut inbox, &piece), Find::Nothing);
            }
        }
    }
}
