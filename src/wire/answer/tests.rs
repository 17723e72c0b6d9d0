use super::*;
use crate::wire::response::block_header;
use proptest::prelude::*;

const LIMIT: usize = 8192;

fn answers(bytes: &[u8]) -> Vec<Found> {
    let mut reader = AnswerReader::new(LIMIT);
    bytes.iter().filter_map(|&byte| reader.push(byte)).collect()
}

fn trailer(number: u32) -> Trailer {
    Trailer { session: 5, number, carried_out: 1, errors: 0 }
}

/// A response with its trailer, as a jig sends it.
fn sealed(response: &[u8], number: u32) -> Vec<u8> {
    [response, trailer(number).after(response).as_bytes()].concat()
}

#[test]
fn plain_answers() {
    let found = answers(b"1,\"a;b\"\n\n2");
    let texts: Vec<&[u8]> = found
        .iter()
        .map(|found| match found {
            Found::Answer(answer) => answer.bytes(),
            Found::TooLong => panic!("short answers"),
        })
        .collect();
    assert_eq!(texts, [&b"1,\"a;b\""[..], b""]);
}

#[test]
fn marks_inside_strings_and_blocks_do_not_count() {
    for response in [
        &b""[..],
        b"1",
        b"0,\"No error\";3",
        b"\"a \"\"quoted; word\"\"\"",
        b"'it''s; #15'",
        b"#H0000FFFF;2",
        b"#213line\nand;\"quo;7",
        b"#10",
        b"#15;\n;\n;",
    ] {
        let found = answers(&sealed(response, 9));
        let [Found::Answer(answer)] = &found[..] else { panic!("{found:?}") };
        assert_eq!(answer.sealed(), Some((response, trailer(9))));
    }
}

#[test]
fn an_answer_too_long_is_told_and_the_next_is_sound() {
    let mut bytes = vec![b'1'; LIMIT + 1];
    bytes.extend_from_slice(b"\n#9999999999\n7\n");
    let found = answers(&bytes);
    assert_eq!(found[..2], [Found::TooLong, Found::TooLong], "line, then block");
    assert!(matches!(&found[2], Found::Answer(answer) if answer.bytes() == b"7"));
}

#[test]
fn a_reset_leaves_a_damaged_block() {
    let mut reader = AnswerReader::new(LIMIT);
    assert_eq!(reader.feed(b"#44096short\n"), (12, None));
    assert!(reader.in_answer());
    reader.reset();
    assert!(!reader.in_answer());
    let bytes = sealed(b"1", 2);
    let (taken, found) = reader.feed(&bytes);
    assert_eq!(taken, bytes.len());
    assert!(matches!(found, Some(Found::Answer(answer)) if answer.sealed().is_some()));
}

/// Responses of units as a jig can send them.
fn response() -> impl Strategy<Value = Vec<u8>> {
    let block = prop::collection::vec(any::<u8>(), 0..300)
        .prop_map(|bytes| [&block_header(bytes.len())[..], &bytes].concat());
    let text = "[A-Z0-9.,()@:+-]{1,20}".prop_map(String::into_bytes);
    let string = "\"[ !#-~]{0,20}\"".prop_map(String::into_bytes);
    prop::collection::vec(prop_oneof![block, text, string], 0..4)
        .prop_map(|units| units.join(&b';'))
}

proptest! {
    #[test]
    fn what_is_sealed_reads_back_in_any_chunks(
        responses in prop::collection::vec(response(), 1..4),
        chunk in 1usize..50,
    ) {
        let stream: Vec<u8> =
            responses.iter().zip(1..).flat_map(|(response, i)| sealed(response, i)).collect();
        let mut reader = AnswerReader::new(LIMIT);
        let mut read = Vec::new();
        for mut chunk in stream.chunks(chunk) {
            while !chunk.is_empty() {
                let (taken, found) = reader.feed(chunk);
                chunk = &chunk[taken..];
                read.extend(found);
            }
        }
        prop_assert_eq!(read.len(), responses.len());
        for ((found, response), number) in read.iter().zip(&responses).zip(1..) {
            let Found::Answer(answer) = found else { panic!("short answers") };
            prop_assert_eq!(answer.sealed(), Some((&response[..], trailer(number))));
        }
    }

    #[test]
    fn a_damaged_answer_never_passes(response in response(), at: prop::sample::Index, flips in 1u8..) {
        let mut bytes = sealed(&response, 3);
        let at = at.index(bytes.len());
        bytes[at] ^= flips;
        for found in answers(&[&bytes[..], b"\n"].concat()) {
            if let Found::Answer(answer) = found {
                prop_assert_eq!(answer.sealed(), None);
            }
        }
    }

    #[test]
    fn any_bytes_are_taken_without_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..500)) {
        for found in answers(&bytes) {
            if let Found::Answer(answer) = found {
                answer.sealed();
            }
        }
    }
}
