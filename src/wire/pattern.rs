//! Patterns of headers and words: capitals are the short form, `[…]` may be left out, `#` takes a
//! numeric suffix.

use core::fmt;

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

impl Segments {
    /// Matches mnemonics against the pattern; gives the suffix, 1 where none was given.
    pub(super) fn matches(mut self, mnemonics: &[&[u8]]) -> Option<u8> {
        let Some(segment) = self.next() else {
            return mnemonics.is_empty().then_some(1);
        };
        let taken = mnemonics.split_first().and_then(|(&word, rest)| {
            let own = segment.matches(word)?;
            let others = self.clone().matches(rest)?;
            Some(if segment.suffixed { own } else { others })
        });
        taken.or_else(|| if segment.optional { self.matches(mnemonics) } else { None })
    }
}

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

/// A header to be written: `:OUTP2`, `*ESR?`. Starts at the root, so that it may stand anywhere
/// in a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Header {
    pub(super) pattern: &'static str,
    pub(super) suffix: u8,
    pub(super) query: bool,
    pub(super) long: bool,
    pub(super) first: bool,
}

impl Header {
    /// The header of a pattern, in short form, with the suffix 1.
    pub const fn new(pattern: &'static str, query: bool) -> Self {
        Header { pattern, suffix: 1, query, long: false, first: false }
    }

    /// With this numeric suffix, where the pattern takes one.
    pub const fn suffix(self, suffix: u8) -> Self {
        Header { suffix, ..self }
    }

    /// In long form, with all that may be left out.
    pub const fn long(self) -> Self {
        Header { long: true, ..self }
    }

    /// At the beginning of a line, which is at the root already.
    pub const fn first(self) -> Self {
        Header { first: true, ..self }
    }
}

impl fmt::Display for Header {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.pattern.starts_with('*') {
            f.write_str(self.pattern)?;
        } else {
            let segments = Segments(self.pattern).filter(|part| self.long || !part.optional);
            for (at, segment) in segments.enumerate() {
                f.write_str(if self.first && at == 0 { "" } else { ":" })?;
                f.write_str(if self.long { segment.name } else { short_form(segment.name) })?;
                if segment.suffixed {
                    write!(f, "{}", self.suffix)?;
                }
            }
        }
        f.write_str(if self.query { "?" } else { "" })
    }
}
