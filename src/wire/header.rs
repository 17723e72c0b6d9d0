//! Headers against the tree: reading and writing them from the one table.

use super::error::ErrorCode;
use super::tree::{Entry, Form, Node, TREE};
use core::fmt;

/// A header found in the tree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Found {
    /// What it stands for.
    pub node: Node,
    /// Its numeric suffix; 1 where none was given.
    pub suffix: u8,
}

/// Finds a common command, given with its `*`.
pub fn find_common(word: &[u8], query: bool) -> Result<Found, ErrorCode> {
    TREE.iter()
        .find(|entry| {
            entry.pattern.as_bytes().eq_ignore_ascii_case(word) && takes(entry.form, query)
        })
        .map(|entry| Found { node: entry.node, suffix: 1 })
        .ok_or(ErrorCode::UndefinedHeader)
}

/// Finds a header, given as its mnemonics from the root.
///
/// Errors: -113 where the tree has no such header in this form; -114 where its suffix is out of
/// range.
pub fn find(mnemonics: &[&[u8]], query: bool) -> Result<Found, ErrorCode> {
    // No pattern begins with a part that may be left out: the first letter tells most of them off.
    let initial = mnemonics.first().and_then(|word| word.first()).map(u8::to_ascii_uppercase);
    let begins = |entry: &&Entry| entry.pattern.bytes().next() == initial;
    let fits = |entry: &&Entry| takes(entry.form, query) && begins(entry);
    let found = TREE.iter().filter(fits).find_map(|entry| {
        let suffix = matches(Segments(entry.pattern), mnemonics)?;
        Some((entry.node, suffix))
    });
    let (node, suffix) = found.ok_or(ErrorCode::UndefinedHeader)?;
    if !(1..=node.suffix_max()).contains(&suffix) {
        return Err(ErrorCode::HeaderSuffix);
    }
    Ok(Found { node, suffix })
}

fn takes(form: Form, query: bool) -> bool {
    match form {
        Form::Both => true,
        Form::Command => !query,
        Form::Query => query,
    }
}

/// Matches mnemonics against a pattern; gives the suffix, 1 where none was given.
fn matches(mut pattern: Segments, mnemonics: &[&[u8]]) -> Option<u8> {
    let Some(segment) = pattern.next() else {
        return mnemonics.is_empty().then_some(1);
    };
    let taken = mnemonics.split_first().and_then(|(&word, rest)| {
        let own = segment.matches(word)?;
        let others = matches(pattern.clone(), rest)?;
        Some(if segment.suffixed { own } else { others })
    });
    taken.or_else(|| if segment.optional { matches(pattern, mnemonics) } else { None })
}

/// Whether a word is the long or the short form of a pattern such as `POLarity`, in any case.
pub fn mnemonic_matches(pattern: &str, word: &[u8]) -> bool {
    pattern.as_bytes().eq_ignore_ascii_case(word)
        || short_form(pattern).as_bytes().eq_ignore_ascii_case(word)
}

/// The short form of a pattern: what stands before its first small letter.
pub fn short_form(pattern: &str) -> &str {
    let end = pattern.find(|c: char| c.is_ascii_lowercase()).unwrap_or(pattern.len());
    &pattern[..end]
}

/// One mnemonic of a pattern.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Segment {
    pub(super) name: &'static str,
    pub(super) suffixed: bool,
    pub(super) optional: bool,
}

impl Segment {
    /// The word's suffix if it is this mnemonic; 255 for a suffix beyond any.
    fn matches(&self, word: &[u8]) -> Option<u8> {
        if !self.suffixed {
            return mnemonic_matches(self.name, word).then_some(1);
        }
        let digits = word.iter().rev().take_while(|byte| byte.is_ascii_digit()).count();
        let (name, digits) = word.split_at(word.len() - digits);
        let suffix = digits
            .iter()
            .fold(0u8, |value, digit| value.saturating_mul(10).saturating_add(digit - b'0'));
        mnemonic_matches(self.name, name).then_some(if digits.is_empty() { 1 } else { suffix })
    }
}

/// The mnemonics of a pattern, one by one.
#[derive(Clone, Debug)]
pub(super) struct Segments(pub(super) &'static str);

impl Iterator for Segments {
    type Item = Segment;

    fn next(&mut self) -> Option<Segment> {
        let optional = self.0.starts_with('[');
        let text = self.0.trim_start_matches(['[', ':']);
        if text.is_empty() {
            return None;
        }
        let end = text.find(['[', ']', ':']).unwrap_or(text.len());
        let (name, rest) = text.split_at(end);
        self.0 = rest.strip_prefix(']').unwrap_or(rest);
        let plain = name.strip_suffix('#');
        Some(Segment { name: plain.unwrap_or(name), suffixed: plain.is_some(), optional })
    }
}

impl Node {
    /// The node's line of the tree.
    pub fn entry(self) -> &'static Entry {
        &TREE[self as usize]
    }

    /// The highest numeric suffix that it takes.
    pub fn suffix_max(self) -> u8 {
        match self {
            // The feed alone has a polarity and a soft start.
            Node::Polarity | Node::Charge | Node::SoftStartLimit => 1,
            _ => 2,
        }
    }

    /// Its header as a command, to be written.
    pub fn command(self) -> Header {
        Header { node: self, suffix: 1, query: false, long: false }
    }

    /// Its header as a query, to be written.
    pub fn query(self) -> Header {
        Header { node: self, suffix: 1, query: true, long: false }
    }
}

/// A header to be written: `:OUTP2`, `*ESR?`. Starts at the root, so that it may stand anywhere
/// in a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Header {
    node: Node,
    suffix: u8,
    query: bool,
    long: bool,
}

impl Header {
    /// With this numeric suffix, where the node takes one.
    pub fn suffix(self, suffix: u8) -> Self {
        Header { suffix, ..self }
    }

    /// In long form, with all that may be left out.
    pub fn long(self) -> Self {
        Header { long: true, ..self }
    }
}

impl fmt::Display for Header {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let pattern = self.node.entry().pattern;
        if pattern.starts_with('*') {
            f.write_str(pattern)?;
        } else {
            for segment in Segments(pattern).filter(|segment| self.long || !segment.optional) {
                let name = if self.long { segment.name } else { short_form(segment.name) };
                write!(f, ":{name}")?;
                if segment.suffixed {
                    write!(f, "{}", self.suffix)?;
                }
            }
        }
        f.write_str(if self.query { "?" } else { "" })
    }
}

#[cfg(test)]
mod tests;
