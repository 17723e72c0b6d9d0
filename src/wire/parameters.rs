//! The parameters of a unit, asked for one by one by type.
//!
//! Ask for all, call [`Parameters::finish`], and only then act: so a unit with too many or too
//! few parameters is refused before anything of it is carried out.

use super::channel_list::ChannelList;
use super::error::{Error, ErrorCode};
use super::header::mnemonic_matches;
use super::number::{self, Unit};
use super::scan::{Element, Quoted, Scanner};
use core::ops::RangeInclusive;

/// A number, or one of the words that stand for one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Numeric {
    /// The number itself, in the unit that was asked for.
    Value(f64),
    /// `MINimum`.
    Minimum,
    /// `MAXimum`.
    Maximum,
    /// `DEFault`.
    Default,
}

const WORDS: [(&str, Numeric); 3] =
    [("MINimum", Numeric::Minimum), ("MAXimum", Numeric::Maximum), ("DEFault", Numeric::Default)];

impl Numeric {
    /// The number meant; -222 where it is out of the range.
    pub fn resolve(self, range: RangeInclusive<f64>, default: f64) -> Result<f64, Error> {
        match self {
            Numeric::Minimum => Ok(*range.start()),
            Numeric::Maximum => Ok(*range.end()),
            Numeric::Default => Ok(default),
            Numeric::Value(value) if range.contains(&value) => Ok(value),
            Numeric::Value(_) => Err(ErrorCode::DataOutOfRange.into()),
        }
    }

    /// The whole number meant, rounded; -222 where it is out of the range.
    pub fn resolve_integer(self, range: RangeInclusive<i64>, default: i64) -> Result<i64, Error> {
        match self {
            Numeric::Minimum => Ok(*range.start()),
            Numeric::Maximum => Ok(*range.end()),
            Numeric::Default => Ok(default),
            Numeric::Value(value) => Some(number::round(value))
                .filter(|value| range.contains(value))
                .ok_or(ErrorCode::DataOutOfRange.into()),
        }
    }
}

/// Parameters still to be asked for. Their syntax has been checked to the end of the unit.
#[derive(Clone, Debug)]
pub struct Parameters<'a> {
    scanner: Scanner<'a>,
}

impl<'a> Parameters<'a> {
    /// Reads data that stand alone, such as the response of a jig.
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
        Ok(Parameters { scanner: Scanner::new(&start[..length]) })
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
    pub fn numeric(&mut self, unit: Unit) -> Result<Numeric, Error> {
        let mut ahead = self.clone();
        let Element::Character(word) = ahead.element()? else {
            return self.number(unit).map(Numeric::Value);
        };
        if is_no_number(word) {
            return self.number(unit).map(Numeric::Value);
        }
        let found = choose(word, &WORDS).ok_or(ErrorCode::InvalidCharacterData)?;
        *self = ahead;
        Ok(found)
    }

    /// What a query may add: `MINimum`, `MAXimum` or `DEFault`, or nothing.
    pub fn bound(&mut self) -> Result<Option<Numeric>, Error> {
        if self.more() { self.keyword(&WORDS).map(Some) } else { Ok(None) }
    }

    /// A whole number in this range, rounded if need be; -222 outside.
    pub fn integer(&mut self, range: RangeInclusive<i64>) -> Result<i64, Error> {
        Numeric::Value(self.number(Unit::None)?).resolve_integer(range, 0)
    }

    /// `ON`, `OFF` or a number; any that does not round to zero is on.
    pub fn boolean(&mut self) -> Result<bool, Error> {
        let mut ahead = self.clone();
        if matches!(ahead.element()?, Element::Character(_)) {
            return self.keyword(&[("ON", true), ("OFF", false)]);
        }
        Ok(number::round(self.number(Unit::None)?) != 0)
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
