//! Journals as they are found after a crash. Any bytes are a journal or none; what a damaged one gives
//! is part of what was written, and never a pass that cannot be looked up.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::judge::reading::Verdict;
use musterbench::record::journal::{FIRST_LINE, Frame, encode, parse};
use musterbench::record::run_record::RunEnding;

/// Frames with sound checksums around what the fuzzer made up: a kind, a length and a payload each. Where the
/// kind has its highest bit, one was lost before it.
fn framed(mut bytes: &[u8]) -> Vec<u8> {
    let (mut journal, mut number) = (FIRST_LINE.to_vec(), 0);
    while let Some((head, rest)) = bytes.split_at_checked(3) {
        let length = usize::from(u16::from_le_bytes([head[1], head[2]]));
        let (payload, rest) = rest.split_at(length.min(rest.len()));
        number += u32::from(head[0] >> 7);
        journal.extend(encode(&Frame { number, kind: head[0] & 0x7f, payload }));
        number += 1;
        bytes = rest;
    }
    journal
}

fuzz_target!(|bytes: &[u8]| {
    let Some((&way, bytes)) = bytes.split_first() else { return };
    let mut bytes = if way & 1 == 0 { framed(bytes) } else { bytes.to_vec() };
    // And some damage, anywhere.
    if way & 2 == 2 && !bytes.is_empty() {
        let at = usize::from(way >> 2) * bytes.len() / 64;
        bytes[at] ^= way | 1;
    }
    check(&bytes);
});

fn check(bytes: &[u8]) {
    let Some(contents) = parse(bytes) else { return };
    let (read, closed) = (contents.readings.len(), contents.closing.is_some());
    let lost = contents.lost;
    let Some(record) = contents.record("fuzzed") else { return };
    assert_eq!(record.readings.len(), read);
    if lost > 0 || !closed {
        assert_ne!(record.closing.verdict, Verdict::Pass);
        assert_ne!(record.closing.ending, RunEnding::Complete);
    }
    // What is found can be written as a report.
    let report = record.report();
    let _ = record.facts_file(&report).to_json();
}
