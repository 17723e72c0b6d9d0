//! Bytes as a host gets them: answers found, trailers checked, texts read. Chunks must not matter,
//! and after any bytes a reset and a sound answer must be read.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::wire::answer::{AnswerReader, Found};
use musterbench::wire::channel::Description;
use musterbench::wire::preamble::Preamble;
use musterbench::wire::seal::Trailer;

const LIMIT: usize = 256;

fuzz_target!(|bytes: &[u8]| {
    let mut reader = AnswerReader::new(LIMIT);
    let one_by_one: Vec<Found> = bytes.iter().filter_map(|&byte| reader.push(byte)).collect();
    for found in &one_by_one {
        if let Found::Answer(answer) = found {
            assert!(answer.bytes().len() <= LIMIT);
            let text = answer.sealed().map_or(answer.bytes(), |(response, _)| response);
            let _ = Preamble::parse(text);
            let _ = Description::parse(text);
        }
    }

    let mut in_chunks = Vec::new();
    let mut again = AnswerReader::new(LIMIT);
    for mut chunk in bytes.chunks(7) {
        while !chunk.is_empty() {
            let (taken, found) = again.feed(chunk);
            chunk = &chunk[taken..];
            in_chunks.extend(found);
        }
    }
    assert_eq!(one_by_one, in_chunks);

    reader.reset();
    let trailer = Trailer { session: 1, number: 2, carried_out: 1, errors: 0 };
    let (_, found) = reader.feed(trailer.after(b"").as_bytes());
    let Some(Found::Answer(answer)) = found else { panic!("a sound answer was not found") };
    assert_eq!(answer.sealed(), Some((&b""[..], trailer)));
});
