use super::*;
use crate::wire::pattern::short_form;
use proptest::prelude::*;

/// Every way to spell a pattern: long or short, with or without what may be left out.
fn spellings(entry: &Entry) -> Vec<(String, Vec<String>)> {
    let mut all = vec![(String::new(), Vec::new())];
    for segment in Segments(entry.pattern) {
        let mut next = Vec::new();
        for (text, words) in all {
            if segment.optional {
                next.push((text.clone(), words.clone()));
            }
            for name in [segment.name, short_form(segment.name)] {
                for suffix in if segment.suffixed { &["", "1"][..] } else { &[""] } {
                    let word = format!("{name}{suffix}");
                    let words = words.iter().cloned().chain([word.clone()]).collect();
                    next.push((format!("{text}:{word}"), words));
                }
            }
        }
        all = next;
    }
    all
}

fn found(words: &[String], query: bool) -> Result<Found, ErrorCode> {
    let words: Vec<&[u8]> = words.iter().map(|word| word.as_bytes()).collect();
    find(&words, query)
}

fn tree_headers() -> impl Iterator<Item = &'static Entry> {
    TREE.iter().filter(|entry| !entry.pattern.starts_with('*'))
}

#[test]
fn the_table_stands_in_the_order_of_its_nodes() {
    for entry in TREE {
        assert_eq!(entry.node.entry().pattern, entry.pattern);
    }
}

#[test]
fn every_spelling_leads_to_its_node_and_to_no_other() {
    for entry in tree_headers() {
        for (text, words) in spellings(entry) {
            for query in [false, true] {
                let expected = entry.takes(query).then_some(entry.node);
                let node = found(&words, query).ok().map(|found| found.node);
                if expected.is_some() {
                    assert_eq!(node, expected, "{text}");
                } else {
                    assert_ne!(node, Some(entry.node), "{text}");
                }
                let hits = TREE.iter().filter(|other| other.takes(query)).filter(|other| {
                    let words: Vec<&[u8]> = words.iter().map(|word| word.as_bytes()).collect();
                    Segments(other.pattern).matches(&words).is_some()
                });
                assert!(hits.count() <= 1, "{text} is ambiguous");
            }
        }
    }
}

/// SCPI-1999, volume 1, 6.2.1: the short form of a longer word is its first four letters, or three
/// if the fourth is a vowel; a word of up to four letters has one form.
#[test]
fn short_forms_follow_the_standard() {
    for segment in tree_headers().flat_map(|entry| Segments(entry.pattern)) {
        let name = segment.name;
        let vowel = matches!(name.as_bytes().get(3), Some(b'A' | b'E' | b'I' | b'O' | b'U'))
            || matches!(name.as_bytes().get(3), Some(b'a' | b'e' | b'i' | b'o' | b'u'));
        let length = match name.len() {
            ..=4 => name.len(),
            _ if vowel => 3,
            _ => 4,
        };
        assert_eq!(short_form(name).len(), length, "{name}");
        assert!(name.len() <= 12, "{name}");
    }
}

#[test]
fn a_pattern_has_at_most_one_suffix() {
    for entry in TREE {
        assert!(entry.pattern.matches('#').count() <= 1, "{}", entry.pattern);
    }
}

#[test]
fn suffixes_are_checked() {
    let find = |text: &str, query| {
        let words: Vec<&[u8]> = text.split(':').map(str::as_bytes).collect();
        find(&words, query).map(|found| (found.node, found.suffix))
    };
    assert_eq!(find("OUTP2", true), Ok((Node::Output, 2)));
    assert_eq!(find("outp", false), Ok((Node::Output, 1)));
    assert_eq!(find("OUTPUT02:STAT", false), Ok((Node::Output, 2)));
    assert_eq!(find("ROUT:SCAN2", false), Ok((Node::Scan, 2)));
    for text in ["OUTP0", "OUTP3", "OUTP99999", "ABOR3"] {
        assert_eq!(find(text, false), Err(ErrorCode::HeaderSuffix), "{text}");
    }
    assert_eq!(find("OUTP2:POL", true), Err(ErrorCode::HeaderSuffix), "the feed alone");
    assert_eq!(find("STAT1:PRES", false), Err(ErrorCode::UndefinedHeader), "takes no suffix");
    assert_eq!(find("OUTPU", false), Err(ErrorCode::UndefinedHeader), "neither long nor short");
    assert_eq!(find("SYST", true), Err(ErrorCode::UndefinedHeader), "an inner node");
    assert_eq!(find("STAT:PRES", true), Err(ErrorCode::UndefinedHeader), "no query form");
}

#[test]
fn common_commands() {
    assert_eq!(find_common(b"*idn", true).map(|found| found.node), Ok(Node::Idn));
    assert_eq!(find_common(b"*IDN", false), Err(ErrorCode::UndefinedHeader));
    assert_eq!(find_common(b"*XYZ", false), Err(ErrorCode::UndefinedHeader));
}

#[test]
fn headers_are_written_from_the_table() {
    assert_eq!(Node::Output.command().suffix(2).to_string(), ":OUTP2");
    assert_eq!(Node::Output.query().suffix(2).long().to_string(), ":OUTPut2:STATe?");
    assert_eq!(Node::Trigger.command().to_string(), ":TRIG1");
    assert_eq!(Node::Esr.query().to_string(), "*ESR?");
    assert_eq!(Node::ErrorNext.query().to_string(), ":SYST:ERR?");
    assert_eq!(Node::ErrorNext.query().first().to_string(), "SYST:ERR?");
}

proptest! {
    #[test]
    fn what_is_written_is_found(at in 0..TREE.len(), suffix in 1u8..=2, long: bool, query: bool) {
        let entry = &TREE[at];
        prop_assume!(entry.takes(query) && suffix <= entry.node.suffix_max());
        let header = Header { pattern: entry.pattern, suffix, query, long, first: false };
        let line = header.to_string();
        let mut message = crate::wire::message::Message::new(line.as_bytes());
        let unit = message.next().expect("one unit").expect("a known header");
        let suffix = if entry.pattern.contains('#') { suffix } else { 1 };
        prop_assert_eq!((unit.node, unit.suffix, unit.query), (entry.node, suffix, query));
        prop_assert!(message.next().is_none());
    }
}
