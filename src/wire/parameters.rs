//! The parameters of a unit, asked for one by one by type.
//!
//! Ask for all, call [`Parameters::finish`], and only then act: so a unit with too many or too
//! few parameters is refused before anything of it is carried out.

use super::channel_list::ChannelList;
use super::error::{Error, ErrorCode};
use super::number::{self, Unit};
use super::pattern::mnemonic_matches;
use super::scan::{Element, Quoted, Scanner};
use super::setting::{Bound, Setting};
use core::ops::RangeInclusive;

/// Parameters still to be asked for. Their syntax has been checked to the end of the unit.
#[derive(Clone, Debug)]
pub struct Parameters<'a> {
    scanner: Scanner<'a>,
    /// What a jig answers has one form only (IEEE 488.2, 8.7); a line to a jig has many (7.7).
    exact: bool,
}

impl<'a> Parameters<'a> {
    /// The data of one unit of a jig's answer. Their syntax has not been checked.
    pub fn answer(text: &'a [u8]) -> Self {
        Parameters { scanner: Scanner::new(text), exact: true }
    }

    /// Reads data that stand alone.
    pub fn read(text: &'a [u8]) -> Result<Self, Error> {
        let mut scanner = Scanner::new(text);
        let parameters = Self::cut(&mut scanner)?;
        if scanner.at_end() { Ok(parameters) } else { Err(ErrorCode::InvalidSeparator.into()) }
    }

    /// Cuts off the parameters up to the unit's end and checks their syntax.
    pub(super) fn cut(scanner: &mut Scanner<'a>) -> Result<Self, Error> {
        scanner.skip_space();
        let start = scanner.rest();
        if !matches!(scanner.peek(), None | Some(b';')) {
            scanner.element()?;
            while scanner.separator()? {
                scanner.element()?;
            }
        }
        let length = start.len() - scanner.rest().len();
        Ok(Parameters { scanner: Scanner::new(&start[..length]), exact: false })
    }

    /// Whether there is another parameter.
    pub fn more(&self) -> bool {
        !self.scanner.at_end()
    }

    /// The next parameter, whatever it is; -109 where there is none.
    pub fn element(&mut self) -> Result<Element<'a>, Error> {
        if !self.more() {
            return Err(ErrorCode::MissingParameter.into());
        }
        let element = self.scanner.element()?;
        self.scanner.separator()?;
        Ok(element)
    }

    /// Ends the parameters; -108 where one is left over.
    pub fn finish(self) -> Result<(), Error> {
        if self.more() { Err(ErrorCode::ParameterNotAllowed.into()) } else { Ok(()) }
    }

    /// A number in this unit.
    pub fn number(&mut self, unit: Unit) -> Result<f64, Error> {
        match self.element()? {
            Element::Decimal { mantissa, exponent, suffix } => {
                number::value(mantissa, exponent, suffix, unit)
            }
            Element::NonDecimal(value) => Ok(value as f64),
            Element::Character(word) if is_no_number(word) => {
                Err(ErrorCode::DataOutOfRange.because("a finite number is needed"))
            }
            other => Err(refused(other)),
        }
    }

    /// A number in this unit, or `MINimum`, `MAXimum`, `DEFault`.
    pub fn numeric(&mut self, unit: Unit) -> Result<Setting<f64>, Error> {
        match self.word_for_number()? {
            Some(bound) => Ok(Setting::Bound(bound)),
            None => self.number(unit).map(Setting::Value),
        }
    }

    /// `MINimum`, `MAXimum` or `DEFault` in the place of a number; nothing is taken where
    /// something else is next. -141 for another word.
    pub fn word_for_number(&mut self) -> Result<Option<Bound>, Error> {
        let mut ahead = self.clone();
        match ahead.element()? {
            Element::Character(word) if !is_no_number(word) => {
                let found = choose(word, &Bound::WORDS).ok_or(ErrorCode::InvalidCharacterData)?;
                *self = ahead;
                Ok(Some(found))
            }
            _ => Ok(None),
        }
    }

    /// What a query may add: `MINimum`, `MAXimum` or `DEFault`, or nothing.
    pub fn bound(&mut self) -> Result<Option<Bound>, Error> {
        if self.more() { self.keyword(&Bound::WORDS).map(Some) } else { Ok(None) }
    }

    /// A whole number in this range, rounded if need be; -222 outside. In an answer a whole number
    /// is written as one.
    pub fn integer(&mut self, range: RangeInclusive<i64>) -> Result<i64, Error> {
        if !self.exact {
            let value = number::round(self.number(Unit::None)?);
            return Setting::Value(value).resolve(&range, 0);
        }
        let value = match self.element()? {
            Element::Decimal { mantissa, exponent: 0, suffix: [] } => {
                core::str::from_utf8(mantissa).ok().and_then(|digits| digits.parse().ok())
            }
            Element::NonDecimal(value) => i64::try_from(value).ok(),
            other => return Err(refused(other)),
        };
        Setting::Value(value.ok_or(ErrorCode::NumericData)?).resolve(&range, 0)
    }

    /// `ON`, `OFF` or a number; any that does not round to zero is on.
    pub fn boolean(&mut self) -> Result<bool, Error> {
        let mut ahead = self.clone();
        if matches!(ahead.element()?, Element::Character(_)) {
            return self.keyword(&[("ON", true), ("OFF", false)]);
        }
        if self.exact {
            return self.integer(0..=1).map(|value| value == 1);
        }
        Ok(number::round(self.number(Unit::None)?) != 0)
    }

    /// What stands up to the next comma, whatever it is, without the white space around it.
    pub fn text(&mut self) -> Result<&'a str, Error> {
        let text = self.scanner.take_while(|byte| byte != b',');
        self.scanner.take(b',');
        core::str::from_utf8(text).map(str::trim).map_err(|_| ErrorCode::InvalidCharacter.into())
    }

    /// The bytes of a definite-length block (IEEE 488.2, 8.7.9), which ends the unit.
    pub fn block(&mut self) -> Result<&'a [u8], Error> {
        let rest = self.scanner.rest();
        let (header, length) = block_header(rest).ok_or(ErrorCode::InvalidBlock)?;
        self.scanner = Scanner::new(&[]);
        rest.get(header..)
            .filter(|bytes| bytes.len() == length)
            .ok_or(ErrorCode::InvalidBlock.into())
    }

    /// One of these words, in long or short form: -224 where it is another.
    pub fn keyword<T: Copy>(&mut self, words: &[(&str, T)]) -> Result<T, Error> {
        match self.element()? {
            Element::Character(word) => {
                choose(word, words).ok_or(ErrorCode::IllegalParameter.into())
            }
            other => Err(refused(other)),
        }
    }

    /// A string.
    pub fn string(&mut self) -> Result<Quoted<'a>, Error> {
        match self.element()? {
            Element::String(quoted) => Ok(quoted),
            other => Err(refused(other)),
        }
    }

    /// A channel list.
    pub fn channels(&mut self) -> Result<ChannelList<'a>, Error> {
        match self.element()? {
            Element::Expression(expression) => ChannelList::parse(expression),
            other => Err(refused(other)),
        }
    }
}

/// How long the header of a definite-length block is that begins here, and how many bytes follow.
fn block_header(text: &[u8]) -> Option<(usize, usize)> {
    let (digits, rest) = text.strip_prefix(b"#")?.split_first()?;
    let digits = usize::from(digits.checked_sub(b'0').filter(|digits| (1..=9).contains(digits))?);
    let length = rest.get(..digits).filter(|length| length.iter().all(u8::is_ascii_digit))?;
    Some((2 + digits, core::str::from_utf8(length).ok()?.parse().ok()?))
}

/// How long a definite-length block is that begins here, its header included.
pub(super) fn block_length(text: &[u8]) -> Option<usize> {
    let (header, length) = block_header(text)?;
    header.checked_add(length)
}

fn choose<T: Copy>(word: &[u8], words: &[(&str, T)]) -> Option<T> {
    words.iter().find(|(pattern, _)| mnemonic_matches(pattern, word)).map(|&(_, value)| value)
}

/// The words of SCPI-1999, volume 1, 7.2.1, for what has no finite value.
fn is_no_number(word: &[u8]) -> bool {
    ["INFinity", "NINFinity", "NINF", "NAN"].iter().any(|pattern| mnemonic_matches(pattern, word))
}

/// The error for an element that stands where it cannot.
fn refused(element: Element<'_>) -> Error {
    match element {
        Element::Decimal { .. } | Element::NonDecimal(_) => ErrorCode::NumberNotAllowed,
        Element::Character(_) => ErrorCode::CharacterDataNotAllowed,
        Element::String(_) => ErrorCode::StringNotAllowed,
        Element::Expression(_) => ErrorCode::ExpressionNotAllowed,
    }
    .into()
}

#[cfg(test)]
mod tests;
