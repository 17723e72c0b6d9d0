//! Seals: what was sealed opens to the same; with any damage it opens to nothing, or to the same.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::wire::seal::{Opened, Trailer, open, seal};

fuzz_target!(|bytes: &[u8]| {
    let _ = open(bytes);
    if let Some(at) = bytes.windows(5).rposition(|w| w == b"SEAL ") {
        let _ = Trailer::split(bytes, at);
    }
    let Some((head, text)) = bytes.split_at_checked(12) else { return };
    let word = |at: usize| u32::from_le_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]);
    let (session, number) = (word(0), word(4).max(1));
    let rest: String = text.iter().map(|b| char::from(b & 0x7f)).filter(|c| *c != '\n').collect();
    let Ok(line) = seal(session, number, &rest) else { return };
    let line = line.strip_suffix(b"\n").unwrap_or(&line);
    let Opened::Sealed(opened) = open(line) else { panic!("not opened") };
    assert_eq!((opened.session, opened.number, opened.rest), (session, number, rest.as_bytes()));
    // A burst of at most 32 bits: a cyclic code of 32 bits finds every one.
    let mut hurt = line.to_vec();
    let at = usize::from(u16::from_le_bytes([head[8], head[9]])) % hurt.len();
    hurt[at] ^= head[10];
    if let Some(next) = hurt.get_mut(at + 1) {
        *next ^= head[11];
    }
    match open(&hurt) {
        Opened::Sealed(found) => assert_eq!(
            (found.session, found.number, found.rest),
            (session, number, rest.as_bytes()),
            "a damaged seal opens"
        ),
        // The word SEAL itself was hit: in sealed mode no plain line is taken.
        Opened::Plain(_) => assert!(at < 5),
        Opened::Damaged => {}
    }
});
