//! Bytes as a jig gets them: cut into lines, seals taken off, units parsed, and every parameter
//! asked for as every type. What is understood must mean the same when written again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::wire::channel_list::{self, ChannelList};
use musterbench::wire::line::{Framer, Received};
use musterbench::wire::message::Message;
use musterbench::wire::number::Unit;
use musterbench::wire::request::text;
use musterbench::wire::seal::{Opened, open};
use musterbench::wire::tree::{Command, Order, TREE};
use musterbench::wire::writer::Writer;

fuzz_target!(|bytes: &[u8]| {
    let mut framer = Framer::new();
    for &byte in bytes {
        if let Some(Received::Whole(line)) = framer.push(byte) {
            match open(line) {
                Opened::Plain(line) => parse(line),
                Opened::Sealed(sealed) => parse(sealed.rest),
                Opened::Damaged => {}
            }
        }
    }
    parse(bytes);
    // A known header in front leads the fuzzer to the parameters.
    if let Some((&first, rest)) = bytes.split_first() {
        let entry = &TREE[usize::from(first) % TREE.len()];
        let query = entry.takes(true);
        let header = if query { entry.node.query() } else { entry.node.command() };
        parse(&[header.to_string().as_bytes(), b" ", rest].concat());
    }
});

fn parse(line: &[u8]) {
    for mut unit in Message::new(line).flatten() {
        match unit.clone().read() {
            Ok(Order::Command(command)) => reads_alike(&command),
            Ok(Order::Query(_)) | Err(_) => {}
        }
        let header = if unit.query { unit.node.query() } else { unit.node.command() };
        let header = header.suffix(unit.suffix).to_string();
        let again = Message::new(header.as_bytes()).next().expect("one unit").expect("known");
        assert_eq!((again.node, again.suffix, again.query), (unit.node, unit.suffix, unit.query));

        while unit.parameters.more() {
            let parameter = unit.parameters.clone();
            unit.parameters.element().expect("the syntax has been checked");
            if let Ok(value) = parameter.clone().number(Unit::Ampere) {
                assert!(value.is_finite());
                let mut text = Vec::new();
                Writer::new(&mut text).number(value).expect("a growing sink takes all");
                assert_eq!(std::str::from_utf8(&text).expect("text").parse(), Ok(value));
            }
            if let Ok(list) = parameter.clone().channels() {
                let channels: Vec<u16> = list.channels().take(1000).collect();
                let mut text = String::new();
                channel_list::write(&mut text, channels.iter().copied()).expect("it grows");
                let again = ChannelList::parse(text.as_bytes()).expect("what was written reads");
                assert!(again.channels().eq(channels));
            }
            let _ = parameter.clone().numeric(Unit::Second).map(|n| n.resolve(&(0.1..=60.0), 5.0));
            let _ = parameter.clone().integer(i64::MIN..=i64::MAX);
            let _ = parameter.clone().boolean();
            let _ = parameter.clone().string().map(|text| text.chars().count());
            let _ = parameter.clone().bound();
        }
        unit.parameters.finish().expect("all have been asked for");
    }
}

/// A command that was understood means the same when it is written again.
fn reads_alike(command: &Command<'_>) {
    let line = text(command).expect("a growing text takes all");
    let unit = Message::new(line.as_bytes()).next().expect("one unit").expect("known");
    assert_eq!(unit.read(), Ok(Order::Command(command.clone())));
}
