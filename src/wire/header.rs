//! Headers against the tree: finding and writing them from the one table.

use super::error::ErrorCode;
use super::pattern::{Header, Segments};
use super::tree::{Entry, Node, TREE};

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
        .find(|entry| entry.pattern.as_bytes().eq_ignore_ascii_case(word) && entry.takes(query))
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
    let fits = |entry: &&Entry| entry.takes(query) && begins(entry);
    let found = TREE.iter().filter(fits).find_map(|entry| {
        let suffix = Segments(entry.pattern).matches(mnemonics)?;
        Some((entry.node, suffix))
    });
    let (node, suffix) = found.ok_or(ErrorCode::UndefinedHeader)?;
    if !(1..=node.suffix_max()).contains(&suffix) {
        return Err(ErrorCode::HeaderSuffix);
    }
    Ok(Found { node, suffix })
}

impl Node {
    /// The node's line of the tree.
    pub fn entry(self) -> &'static Entry {
        &TREE[self as usize]
    }

    /// The highest numeric suffix that it takes.
    pub fn suffix_max(self) -> u8 {
        self.entry().suffix_max
    }

    /// Its header as a command, to be written.
    pub fn command(self) -> Header {
        Header::new(self.entry().pattern, false)
    }

    /// Its header as a query, to be written.
    pub fn query(self) -> Header {
        Header::new(self.entry().pattern, true)
    }
}

#[cfg(test)]
mod tests;
