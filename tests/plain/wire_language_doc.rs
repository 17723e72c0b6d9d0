//! `docs/wire-language.md` says what the code does: its table is the tree, its examples are true; the
//! table of `docs/refusals.md` holds all refusals.

use musterbench::link::inbox::{Answer, Find, Inbox};
use musterbench::wire::answers::Answers;
use musterbench::wire::channel::Description;
use musterbench::wire::checksum::crc32;
use musterbench::wire::error::ErrorCode;
use musterbench::wire::message::{Message, Unit};
use musterbench::wire::preamble::Preamble;
use musterbench::wire::refusal::Refusal;
use musterbench::wire::seal::{Opened, open};
use musterbench::wire::status::{operation, questionable};
use musterbench::wire::tree::{Node, TREE};
use musterbench::wire::{LINE_MAX, PROTOCOL, SEALED_BLOCK_MAX};
use std::path::Path;

const TEXT: &str = include_str!("../../docs/wire-language.md");
const REFUSALS: &str = include_str!("../../docs/refusals.md");

/// The cells of every table row of a text.
fn rows_of(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    text.lines().filter_map(|line| {
        let row = line.strip_prefix("| ")?.strip_suffix(" |")?;
        Some(row.split('|').map(str::trim).collect())
    })
}

fn rows() -> impl Iterator<Item = Vec<&'static str>> {
    rows_of(TEXT)
}

#[test]
fn the_table_is_the_tree() {
    let written: Vec<(&str, &str)> = rows()
        .filter(|row| matches!(row.get(1), Some(&("command" | "query" | "both"))))
        .map(|row| (row[0].trim_matches('`'), row[1]))
        .collect();
    let tree: Vec<(&str, &str)> = TREE
        .iter()
        .map(|entry| {
            let form = match (entry.takes(false), entry.takes(true)) {
                (true, true) => "both",
                (true, false) => "command",
                (false, _) => "query",
            };
            (entry.pattern, form)
        })
        .collect();
    assert_eq!(written, tree);
}

#[test]
fn the_bits_are_the_bits() {
    let bits: Vec<u16> = rows()
        .filter_map(|row| {
            let [bit, _, value] = row[..] else { return None };
            let (bit, value) = (bit.parse::<u16>().ok()?, value.parse::<u16>().ok()?);
            assert_eq!(1u16 << bit, value);
            Some(value)
        })
        .collect();
    let constants = [
        operation::SETTLING,
        operation::SWEEPING,
        operation::MEASURING,
        operation::WAITING_FOR_TRIGGER,
        operation::WATCHING,
        operation::SENDING,
        operation::CLOSURE,
        questionable::FEED_TRIPPED,
        questionable::LOADS_TRIPPED,
        questionable::DUTY,
        questionable::SILENCE,
        questionable::INTERLOCK,
    ];
    assert_eq!(bits, constants);
}

#[test]
fn numbers_in_the_text_are_those_of_the_code() {
    assert!(TEXT.contains(&format!("at most {LINE_MAX} bytes")));
    assert!(TEXT.contains(&format!("at most {SEALED_BLOCK_MAX} bytes")));
    assert!(TEXT.contains(&format!("version {PROTOCOL}")));
    for row in rows() {
        for number in row[0].split(" … ").filter_map(|number| number.parse::<i16>().ok()) {
            if number < 0 {
                assert!(ErrorCode::from_number(number).is_some(), "{number}");
            }
        }
    }
}

/// Every standard number that the jig gives by itself stands in the table; those of a line that was not
/// understood do so together.
#[test]
fn the_table_has_every_error_that_the_jig_gives() {
    let jig = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/jig");
    let mut sources = String::new();
    for folder in [jig.clone(), jig.join("commands")] {
        for entry in std::fs::read_dir(folder).expect("there") {
            let path = entry.expect("read").path();
            if path.extension().is_some_and(|ending| ending == "rs") {
                sources += &std::fs::read_to_string(path).expect("text");
            }
        }
    }
    let told: Vec<i16> = rows().filter_map(|row| row[0].parse().ok()).collect();
    let mut given = 0;
    for number in -499..=-200 {
        let Some(code) = ErrorCode::from_number(number) else { continue };
        let name = format!("ErrorCode::{code:?}");
        // Not a longer name that begins with it.
        let ends = |rest: &str| !rest.starts_with(|c: char| c.is_ascii_alphanumeric());
        if sources.split(&name).skip(1).any(ends) {
            given += 1;
            assert!(told.contains(&number), "{number} {code:?}");
        }
    }
    assert!(given > 5, "{given}");
}

#[test]
fn the_refusals_are_the_refusals() {
    let written: Vec<(i16, &str)> = rows_of(REFUSALS)
        .skip_while(|row| row[0] != "refusal")
        .skip(2)
        .map_while(|row| Some((row[0].parse().ok()?, row[1])))
        .collect();
    let refusals: Vec<(i16, &str)> =
        Refusal::ALL.iter().map(|refusal| (refusal.number(), refusal.text())).collect();
    assert_eq!(written, refusals);
}

/// A line sent, and the answer below it, if there is one.
fn exchanges() -> Vec<(&'static str, Option<&'static str>)> {
    let lines: Vec<&str> = TEXT.lines().collect();
    lines
        .iter()
        .enumerate()
        .filter_map(|(i, line)| {
            let answer = lines.get(i + 1).and_then(|next| next.strip_prefix("< "));
            Some((line.strip_prefix("> ")?, answer))
        })
        .collect()
}

fn units(line: &[u8]) -> Vec<Unit<'_>> {
    Message::new(line).map(|unit| unit.expect("the examples are sound")).collect()
}

/// The answer to a sealed line, as the host finds it.
fn answer(text: &str, session: u32, number: u32) -> Answer {
    match Inbox::default().take(format!("{text}\n").as_bytes(), session, number) {
        Find::Answer(answer) => answer,
        other => panic!("{text}: {other:?}"),
    }
}

#[test]
fn examples_are_true() {
    let (mut plain, mut sealed, mut described, mut preambles) = (0, 0, 0, 0);
    for (line, reply) in exchanges() {
        let (rest, answered) = match open(line.as_bytes()) {
            Opened::Damaged => panic!("{line}: a bad seal"),
            Opened::Plain(line) => {
                plain += 1;
                (line, reply.is_some())
            }
            Opened::Sealed(seal) => {
                sealed += 1;
                let reply = reply.expect("a sealed line is answered");
                let answer = answer(reply, seal.session, seal.number);
                assert_eq!(answer.errors == 1, line.contains("(@999)"), "{line}");
                let all = units(seal.rest).len() as u16;
                assert_eq!(answer.carried_out + answer.errors, all, "{line}");
                (seal.rest, !answer.response.is_empty())
            }
        };
        let units = units(rest);
        assert_eq!(units.iter().any(|unit| unit.query), answered, "{line}");
        match (&units[..], reply) {
            ([Unit { node: Node::ChannelDescribe, .. }], Some(reply)) => {
                described += 1;
                Answers::only::<Description>(reply.as_bytes()).expect("a description");
            }
            ([Unit { node: Node::FetchPreamble, .. }], Some(reply)) => {
                preambles += 1;
                let preamble: Preamble = Answers::only(reply.as_bytes()).expect("a preamble");
                assert_eq!(preamble.crc, crc32(&block()));
                let counts = preamble.points as usize * preamble.columns.len();
                assert_eq!(block().len(), 2 * counts);
            }
            _ => {}
        }
    }
    assert!(plain >= 9 && sealed >= 5 && described == 1 && preambles == 1);
}

/// The bytes of the example block.
fn block() -> Vec<u8> {
    let (_, after) = TEXT.split_once("```hex\n").expect("the example block");
    let (bytes, _) = after.split_once("```").expect("its end");
    bytes.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).expect("hex")).collect()
}
