//! Channel lists, `(@101:104,107)`: SCPI-1999, volume 1, 8.3.2.

use super::error::{Error, ErrorCode};
use super::scan::Scanner;
use core::fmt;

/// A list of channels: the host gives a slice, the jig takes it from the line.
#[derive(Clone, Copy, Debug)]
pub struct ChannelList<'a>(Source<'a>);

#[derive(Clone, Copy, Debug)]
enum Source<'a> {
    Slice(&'a [u16]),
    /// What stands between `(@` and `)`; its syntax has been checked.
    Inside(&'a [u8]),
}

impl<'a> ChannelList<'a> {
    /// The channels of a slice.
    pub fn of(channels: &'a [u16]) -> Self {
        ChannelList(Source::Slice(channels))
    }

    /// Reads a whole expression, parentheses included.
    ///
    /// Errors: -171 where it is no channel list, -222 for a channel number beyond 65535.
    pub fn parse(expression: &'a [u8]) -> Result<Self, Error> {
        let inside = expression
            .strip_prefix(b"(")
            .and_then(|rest| rest.strip_suffix(b")"))
            .map(<[u8]>::trim_ascii_start)
            .and_then(|rest| rest.strip_prefix(b"@"))
            .ok_or(ErrorCode::InvalidExpression.because("a channel list reads (@101:104)"))?;
        let mut scanner = Scanner::new(inside);
        scanner.skip_space();
        if !scanner.at_end() {
            range(&mut scanner)?;
            while !scanner.at_end() {
                if !scanner.take(b',') {
                    return Err(ErrorCode::InvalidExpression.into());
                }
                scanner.skip_space();
                range(&mut scanner)?;
            }
        }
        Ok(ChannelList(Source::Inside(inside)))
    }

    /// The channels one by one, in the order of the list; a range may also run downwards.
    pub fn channels(&self) -> Channels<'a> {
        Channels(match self.0 {
            Source::Slice(channels) => Walk::Slice(channels),
            Source::Inside(inside) => {
                let mut scanner = Scanner::new(inside);
                scanner.skip_space();
                Walk::Inside { scanner, current: None }
            }
        })
    }
}

impl PartialEq for ChannelList<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.channels().eq(other.channels())
    }
}

/// One entry with the white space after it: first and last channel.
fn range(scanner: &mut Scanner<'_>) -> Result<(u16, u16), Error> {
    let first = number(scanner)?;
    scanner.skip_space();
    if !scanner.take(b':') {
        return Ok((first, first));
    }
    scanner.skip_space();
    let last = number(scanner)?;
    scanner.skip_space();
    Ok((first, last))
}

fn number(scanner: &mut Scanner<'_>) -> Result<u16, Error> {
    let digits = scanner.take_while(|byte| byte.is_ascii_digit());
    if digits.is_empty() {
        return Err(ErrorCode::InvalidExpression.into());
    }
    digits
        .iter()
        .try_fold(0u16, |value, digit| value.checked_mul(10)?.checked_add((digit - b'0').into()))
        .ok_or(ErrorCode::DataOutOfRange.because("no such channel"))
}

/// Walks through the channels of a list.
#[derive(Clone, Debug)]
pub struct Channels<'a>(Walk<'a>);

#[derive(Clone, Debug)]
enum Walk<'a> {
    Slice(&'a [u16]),
    Inside {
        scanner: Scanner<'a>,
        /// What is left of a range.
        current: Option<(u16, u16)>,
    },
}

impl Iterator for Channels<'_> {
    type Item = u16;

    fn next(&mut self) -> Option<u16> {
        let (scanner, current) = match &mut self.0 {
            Walk::Slice(channels) => {
                let (&first, rest) = channels.split_first()?;
                *channels = rest;
                return Some(first);
            }
            Walk::Inside { scanner, current } => (scanner, current),
        };
        let (first, last) = match current.take() {
            Some(current) => current,
            None if scanner.at_end() => return None,
            None => {
                let current = range(scanner).ok()?;
                scanner.take(b',');
                scanner.skip_space();
                current
            }
        };
        *current = match first.cmp(&last) {
            core::cmp::Ordering::Less => Some((first + 1, last)),
            core::cmp::Ordering::Greater => Some((first - 1, last)),
            core::cmp::Ordering::Equal => None,
        };
        Some(first)
    }
}

/// Writes a channel list; runs that count up are written as ranges.
pub fn write(sink: &mut impl fmt::Write, channels: impl IntoIterator<Item = u16>) -> fmt::Result {
    let mut channels = channels.into_iter().peekable();
    let mut separator = "";
    sink.write_str("(@")?;
    while let Some(first) = channels.next() {
        let mut last = first;
        while let Some(next) = channels.next_if(|&next| last.checked_add(1) == Some(next)) {
            last = next;
        }
        write!(sink, "{separator}{first}")?;
        if last != first {
            write!(sink, ":{last}")?;
        }
        separator = ",";
    }
    sink.write_str(")")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Result<Vec<u16>, i16> {
        ChannelList::parse(text.as_bytes())
            .map(|list| list.channels().collect())
            .map_err(|error| error.code.number())
    }

    #[test]
    fn lists_with_ranges_and_white_space() {
        assert_eq!(read("(@101:104,107)"), Ok(vec![101, 102, 103, 104, 107]));
        assert_eq!(read("(@ 101 : 103 ,\t7 )"), Ok(vec![101, 102, 103, 7]));
        assert_eq!(read("( @1)"), Ok(vec![1]));
        assert_eq!(read("(@3:1)"), Ok(vec![3, 2, 1]));
        assert_eq!(read("(@65535)"), Ok(vec![65535]));
        assert_eq!(read("(@5,5)"), Ok(vec![5, 5]));
        assert_eq!(read("(@)"), Ok(vec![]));
    }

    #[test]
    fn malformed_lists() {
        for text in
            ["(101)", "(@", "(@1,)", "(@,1)", "(@1:)", "(@1 2)", "(@1!2)", "(@1:2:3)", "(@a)"]
        {
            assert_eq!(read(text), Err(-171), "{text}");
        }
        assert_eq!(read("(@65536)"), Err(-222));
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back(channels in prop::collection::vec(0u16..300, 0..40)) {
            let mut text = String::new();
            write(&mut text, channels.iter().copied()).expect("a growing sink takes all");
            prop_assert_eq!(read(&text), Ok(channels));
        }
    }
}
