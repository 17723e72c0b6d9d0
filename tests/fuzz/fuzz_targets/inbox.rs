//! Bytes as a host gets them: answers found, texts read. Chunks must not matter, and after any bytes
//! a sound answer on a line of its own must be found.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::link::inbox::{Find, Inbox};
use musterbench::wire::answers::Answers;
use musterbench::wire::channel::Description;
use musterbench::wire::preamble::Preamble;
use musterbench::wire::seal::Trailer;

const SESSION: u32 = 1;
const NUMBER: u32 = 2;

/// All that is found once these bytes have come too.
fn take(inbox: &mut Inbox, bytes: &[u8]) -> Vec<Find> {
    let mut next = inbox.take(bytes, SESSION, NUMBER);
    let mut found = Vec::new();
    while next != Find::Nothing {
        found.push(next);
        next = inbox.take(b"", SESSION, NUMBER);
    }
    found
}

fuzz_target!(|bytes: &[u8]| {
    let mut inbox = Inbox::default();
    let at_once = take(&mut inbox, bytes);
    for found in &at_once {
        if let Find::Answer(answer) = found {
            let _ = Answers::only::<Preamble>(&answer.response);
            let _ = Answers::only::<Description>(&answer.response);
        }
    }

    let mut again = Inbox::default();
    let in_chunks: Vec<Find> = bytes.chunks(7).flat_map(|chunk| take(&mut again, chunk)).collect();
    assert_eq!(at_once, in_chunks);

    take(&mut inbox, b"\n");
    let trailer = Trailer { session: SESSION, number: NUMBER, carried_out: 1, errors: 0 };
    let found = take(&mut inbox, trailer.after(b"").as_bytes());
    let [Find::Answer(answer)] = &found[..] else { panic!("a sound answer was not found") };
    assert!(answer.response.is_empty() && answer.carried_out == 1);
});
