//! The program data elements of IEEE 488.2, 7.7, cut out of a line.
//!
//! Checks syntax only; what an element is worth is for `parameters`.

use super::error::{Error, ErrorCode};

/// One data element, still as text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Element<'a> {
    /// A decimal number.
    Decimal {
        /// Sign, digits and point.
        mantissa: &'a [u8],
        /// Power of ten.
        exponent: i32,
        /// Unit, empty without one.
        suffix: &'a [u8],
    },
    /// A number after `#H`, `#Q` or `#B`.
    NonDecimal(u64),
    /// A word.
    Character(&'a [u8]),
    /// What stands between the quotes.
    String(Quoted<'a>),
    /// An expression, with its parentheses.
    Expression(&'a [u8]),
}

/// The inside of a string, in which its own quote is still doubled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Quoted<'a> {
    quote: u8,
    inside: &'a [u8],
}

impl Quoted<'_> {
    /// The characters that the string stands for.
    pub fn chars(&self) -> impl Iterator<Item = char> {
        let mut bytes = self.inside.iter().copied();
        let quote = self.quote;
        core::iter::from_fn(move || {
            let byte = bytes.next()?;
            if byte == quote {
                bytes.next();
            }
            Some(byte as char)
        })
    }
}

/// White space: all control characters but newline, and the space (IEEE 488.2, 7.4.1.2).
fn is_space(byte: u8) -> bool {
    byte <= b' ' && byte != b'\n'
}

fn is_word(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'_'
}

/// Reads forward through a line.
#[derive(Clone, Debug)]
pub struct Scanner<'a> {
    bytes: &'a [u8],
}

impl<'a> Scanner<'a> {
    /// Reads from the start of these bytes.
    pub fn new(bytes: &'a [u8]) -> Self {
        Scanner { bytes }
    }

    /// What has not been read.
    pub fn rest(&self) -> &'a [u8] {
        self.bytes
    }

    /// Whether all has been read.
    pub fn at_end(&self) -> bool {
        self.bytes.is_empty()
    }

    /// The next byte, left in place.
    pub fn peek(&self) -> Option<u8> {
        self.bytes.first().copied()
    }

    /// Takes this byte, if it is next.
    pub fn take(&mut self, byte: u8) -> bool {
        let next = self.peek() == Some(byte);
        self.bytes = &self.bytes[next as usize..];
        next
    }

    /// Takes all bytes for which this holds.
    pub fn take_while(&mut self, holds: impl Fn(u8) -> bool) -> &'a [u8] {
        let length = self.bytes.iter().take_while(|&&byte| holds(byte)).count();
        self.take_bytes(length)
    }

    /// Skips white space; says whether there was some.
    pub fn skip_space(&mut self) -> bool {
        !self.take_while(is_space).is_empty()
    }

    /// A mnemonic or word: a letter, then letters, digits and underscores. Empty if none is next.
    pub fn word(&mut self) -> &'a [u8] {
        match self.peek() {
            Some(byte) if byte.is_ascii_alphabetic() => self.take_while(is_word),
            _ => &[],
        }
    }

    /// The next data element.
    pub fn element(&mut self) -> Result<Element<'a>, Error> {
        match self.peek() {
            Some(b'0'..=b'9' | b'+' | b'-' | b'.') => self.decimal(),
            Some(b'#') => self.hash(),
            Some(quote @ (b'"' | b'\'')) => self.string(quote),
            Some(b'(') => self.expression(),
            Some(byte) if byte.is_ascii_alphabetic() => {
                let word = self.word();
                if word.len() > 12 {
                    return Err(ErrorCode::CharacterDataTooLong.into());
                }
                Ok(Element::Character(word))
            }
            Some(byte) if !byte.is_ascii() => Err(ErrorCode::InvalidCharacter.into()),
            _ => Err(ErrorCode::Syntax.because("a parameter was expected")),
        }
    }

    /// Steps over what may follow an element: white space, then `,` (true), `;` or the end.
    pub fn separator(&mut self) -> Result<bool, Error> {
        self.skip_space();
        match self.peek() {
            None | Some(b';') => Ok(false),
            Some(b',') => {
                self.take(b',');
                self.skip_space();
                Ok(true)
            }
            Some(byte) if !byte.is_ascii() => Err(ErrorCode::InvalidCharacter.into()),
            Some(_) => Err(ErrorCode::InvalidSeparator.into()),
        }
    }

    fn take_bytes(&mut self, length: usize) -> &'a [u8] {
        let (taken, rest) = self.bytes.split_at(length);
        self.bytes = rest;
        taken
    }

    /// IEEE 488.2, 7.7.2 and 7.7.3: white space may stand around the `E` and before the suffix.
    fn decimal(&mut self) -> Result<Element<'a>, Error> {
        let start = self.bytes;
        let _ = self.take(b'+') || self.take(b'-');
        let whole = self.take_while(|byte| byte.is_ascii_digit());
        let fraction: &[u8] =
            if self.take(b'.') { self.take_while(|byte| byte.is_ascii_digit()) } else { &[] };
        if whole.is_empty() && fraction.is_empty() {
            return Err(ErrorCode::NumericData.into());
        }
        let leading_zeros = whole.iter().take_while(|&&digit| digit == b'0').count();
        if whole.len() - leading_zeros + fraction.len() > 255 {
            return Err(ErrorCode::TooManyDigits.into());
        }
        let mantissa = &start[..start.len() - self.bytes.len()];
        if matches!(self.peek(), Some(b'.' | b'_' | b'+' | b'-')) {
            return Err(ErrorCode::InvalidNumber.into());
        }
        let exponent = self.exponent()?.unwrap_or(0);
        let suffix = self.suffix()?;
        Ok(Element::Decimal { mantissa, exponent, suffix })
    }

    /// An exponent, if one is next; else nothing is read.
    fn exponent(&mut self) -> Result<Option<i32>, Error> {
        let mut ahead = self.clone();
        ahead.skip_space();
        if !(ahead.take(b'E') || ahead.take(b'e')) {
            return Ok(None);
        }
        ahead.skip_space();
        let negative = ahead.take(b'-');
        if !negative {
            ahead.take(b'+');
        }
        let digits = ahead.take_while(|byte| byte.is_ascii_digit());
        if digits.is_empty() {
            return Ok(None);
        }
        *self = ahead;
        let magnitude = digits.iter().fold(0i32, |value, digit| {
            value.saturating_mul(10).saturating_add((digit - b'0').into())
        });
        if magnitude > 32_000 {
            return Err(ErrorCode::ExponentTooLarge.into());
        }
        Ok(Some(if negative { -magnitude } else { magnitude }))
    }

    /// A suffix such as `MV` or `V/S`, if one is next; else nothing is read.
    fn suffix(&mut self) -> Result<&'a [u8], Error> {
        let mut ahead = self.clone();
        ahead.skip_space();
        if !ahead.peek().is_some_and(|byte| byte.is_ascii_alphabetic() || byte == b'/') {
            return Ok(&[]);
        }
        let suffix = ahead.take_while(|byte| is_word(byte) || b"/.-".contains(&byte));
        *self = ahead;
        if suffix.len() > 12 {
            return Err(ErrorCode::SuffixTooLong.into());
        }
        Ok(suffix)
    }

    /// `#H…`, `#Q…`, `#B…` (IEEE 488.2, 7.7.4); blocks are refused.
    fn hash(&mut self) -> Result<Element<'a>, Error> {
        self.take(b'#');
        let radix = match self.peek() {
            Some(b'H' | b'h') => 16,
            Some(b'Q' | b'q') => 8,
            Some(b'B' | b'b') => 2,
            Some(b'0'..=b'9') => return Err(ErrorCode::BlockNotAllowed.into()),
            _ => return Err(ErrorCode::NumericData.into()),
        };
        self.take_bytes(1);
        let digits = self.take_while(is_word);
        if digits.is_empty() {
            return Err(ErrorCode::NumericData.into());
        }
        let mut value = 0u64;
        for &digit in digits {
            let digit = (digit as char).to_digit(radix).ok_or(ErrorCode::InvalidNumber)?;
            value = value
                .checked_mul(radix.into())
                .and_then(|value| value.checked_add(digit.into()))
                .ok_or(ErrorCode::DataOutOfRange)?;
        }
        Ok(Element::NonDecimal(value))
    }

    /// A string in either kind of quotes; doubled, the quote stands for itself (7.7.5).
    fn string(&mut self, quote: u8) -> Result<Element<'a>, Error> {
        self.take(quote);
        let start = self.bytes;
        loop {
            self.take_while(|byte| byte != quote && byte.is_ascii());
            let inside = &start[..start.len() - self.bytes.len()];
            if !self.take(quote) {
                return Err(ErrorCode::InvalidString.into());
            }
            if !self.take(quote) {
                return Ok(Element::String(Quoted { quote, inside }));
            }
        }
    }

    /// An expression: up to its own closing parenthesis, strings inside stepped over (7.7.7).
    fn expression(&mut self) -> Result<Element<'a>, Error> {
        let start = self.bytes;
        let mut depth = 0u32;
        loop {
            match self.peek() {
                Some(quote @ (b'"' | b'\'')) => {
                    self.string(quote)?;
                    continue;
                }
                Some(b'(') => depth += 1,
                Some(b')') => depth -= 1,
                None | Some(b';' | b'#' | 0x7F..) => {
                    return Err(ErrorCode::InvalidExpression.into());
                }
                Some(_) => {}
            }
            self.take_bytes(1);
            if depth == 0 {
                return Ok(Element::Expression(&start[..start.len() - self.bytes.len()]));
            }
        }
    }
}

#[cfg(test)]
mod tests;
