//! The grammar of quantities.
//!
//! ```text
//! quantity   = number unit                              250 mA    4.7 kΩ
//! toleranced = quantity [ ± ( number "%" | quantity ) ]  16 V ±5 %    16 V ±800 mV
//! limits     = quantity "to" quantity                    20 ms to 1 s
//!            | number "to" quantity                      20 to 80 ms
//!            | "at least" quantity | "at most" quantity
//!            | quantity ± …                              2 Hz ±10 %
//!            | "any"
//! ```
//!
//! Numbers have a decimal point, never a comma, no sign and no exponent. `+-` stands for `±` where
//! a keyboard lacks it.

use super::located::quoted;
use super::range::{Limits, Toleranced};
use super::unit::Units;
use core::ops::Range;

/// What is wrong in a quantity, and where in its text (in bytes).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Slip {
    /// Where.
    pub span: Range<usize>,
    /// What.
    pub message: String,
}

/// Parses a quantity.
///
/// # Errors
/// When it is not one, or not of this kind.
pub fn quantity<Q: Units>(text: &str) -> Result<Q, Slip> {
    let mut s = Scanner { text, at: 0 };
    let q = s.quantity()?;
    s.end()?;
    Ok(q)
}

/// Parses a nominal value with its tolerance.
///
/// # Errors
/// When it is not one, or the tolerance is 100 % or more.
pub fn toleranced<Q: Units>(text: &str) -> Result<Toleranced<Q>, Slip> {
    let mut s = Scanner { text, at: 0 };
    let nominal = s.quantity()?;
    let t = s.tolerance(nominal)?;
    s.end()?;
    Ok(t)
}

/// Parses limits.
///
/// # Errors
/// When they are none, or the lower one is not below the upper one.
pub fn limits<Q: Units>(text: &str) -> Result<Limits<Q>, Slip> {
    let mut s = Scanner { text, at: 0 };
    let limits = if s.word("any") {
        Limits { lower: None, upper: None }
    } else if s.word("at") {
        if s.word("least") {
            Limits { lower: Some(s.quantity()?), upper: None }
        } else if s.word("most") {
            Limits { lower: None, upper: Some(s.quantity()?) }
        } else {
            return Err(s.slip("after \"at\" comes \"least\" or \"most\""));
        }
    } else {
        let start = s.at;
        let number = s.number()?;
        // "20 to 80 ms": the first number borrows the unit of the second one.
        let power = if s.peek_word("to") { None } else { Some(s.unit::<Q>()?) };
        if s.word("to") {
            let upper_number = s.number()?;
            let upper_power = s.unit::<Q>()?;
            let lower = s.value(&number, power.unwrap_or(upper_power))?;
            let upper = s.value(&upper_number, upper_power)?;
            if lower >= upper {
                let message = "the lower limit must be below the upper one".to_owned();
                return Err(Slip { span: start..s.at, message });
            }
            Limits { lower: Some(lower), upper: Some(upper) }
        } else {
            let nominal = s.value(&number, power.unwrap_or(0))?;
            if s.rest().trim().is_empty() {
                let message = "one value is no range; write \"… to …\", \"at least …\", \
                               \"at most …\" or \"… ±5 %\"";
                return Err(Slip { span: start..text.len(), message: message.to_owned() });
            }
            let t = s.tolerance(nominal)?;
            Limits { lower: Some(t.lower), upper: Some(t.upper) }
        }
    };
    s.end()?;
    Ok(limits)
}

/// A number as it stands in the text.
struct Number {
    digits: String,
    span: Range<usize>,
}

struct Scanner<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Scanner<'t> {
    fn rest(&self) -> &'t str {
        &self.text[self.at..]
    }

    fn skip_blanks(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
    }

    fn slip(&self, message: impl Into<String>) -> Slip {
        let first = self.rest().chars().next().map_or(0, char::len_utf8);
        Slip { span: self.at..self.at + first, message: message.into() }
    }

    fn end(&mut self) -> Result<(), Slip> {
        self.skip_blanks();
        if self.rest().is_empty() {
            return Ok(());
        }
        let message = format!("{} is too much", quoted(self.rest()));
        Err(Slip { span: self.at..self.text.len(), message })
    }

    /// The run of characters up to the next blank, digit or sign.
    fn next_word(&mut self) -> &'t str {
        self.skip_blanks();
        let rest = self.rest();
        let stop = |c: char| c.is_whitespace() || c.is_ascii_digit() || matches!(c, '±' | '+');
        &rest[..rest.find(stop).unwrap_or(rest.len())]
    }

    fn peek_word(&mut self, word: &str) -> bool {
        self.next_word() == word
    }

    fn word(&mut self, word: &str) -> bool {
        let found = self.peek_word(word);
        if found {
            self.at += word.len();
        }
        found
    }

    fn number(&mut self) -> Result<Number, Slip> {
        self.skip_blanks();
        let rest = self.rest();
        let (start, bytes) = (self.at, rest.as_bytes());
        let digits = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
        let whole = digits(0);
        if whole == 0 {
            return Err(match rest.chars().next() {
                None => self.slip("a number is missing"),
                Some('-' | '−') => self.slip("it cannot be negative"),
                Some('.' | ',') => self.slip("write a digit before the decimal point"),
                Some(_) => self.slip(format!("a number is wanted, not {}", quoted(rest))),
            });
        }
        let mut end = whole;
        if bytes.get(end) == Some(&b'.') {
            let fraction = digits(end + 1);
            if fraction == 0 {
                self.at += end;
                return Err(self.slip("write a digit after the decimal point"));
            }
            end += 1 + fraction;
        }
        if matches!(bytes.get(end), Some(b',' | b'\'' | b'_' | b'.')) {
            self.at += end;
            return Err(self.slip(
                "write numbers with a decimal point and nothing else, for example 1.5 or 1500",
            ));
        }
        self.at += end;
        Ok(Number { digits: rest[..end].to_owned(), span: start..self.at })
    }

    /// Reads a unit; returns its power of ten.
    fn unit<Q: Units>(&mut self) -> Result<i32, Slip> {
        self.unit_or::<Q>("")
    }

    /// Reads a unit where `also` would be good too.
    fn unit_or<Q: Units>(&mut self, also: &'static str) -> Result<i32, Slip> {
        let name = self.next_word();
        let known = || {
            let also = Some(also).filter(|a| !a.is_empty());
            let names: Vec<&str> =
                also.into_iter().chain(written_units::<Q>().map(|u| u.0)).collect();
            names.join(", ")
        };
        if let Some((_, power)) = Q::UNITS.iter().find(|u| u.0 == name) {
            self.at += name.len();
            return Ok(*power);
        }
        let message = match name {
            "" => format!("the unit is missing ({})", known()),
            "-" | "–" => "write \"to\" between two limits".to_owned(),
            _ => format!("{} is not a unit of {}; known are {}", quoted(name), Q::KIND, known()),
        };
        let end = self.at + name.len();
        let span = if name.is_empty() { self.slip("").span } else { self.at..end };
        Err(Slip { span, message })
    }

    /// The decimal number times a power of ten, rounded once.
    fn value<Q: Units>(&self, number: &Number, power: i32) -> Result<Q, Slip> {
        let value: f64 = format!("{}e{power}", number.digits).parse().unwrap_or(f64::INFINITY);
        if value.is_finite() && number.digits.len() <= 400 {
            Ok(Q::from_si(value))
        } else {
            Err(Slip { span: number.span.clone(), message: "the number is too large".into() })
        }
    }

    fn quantity<Q: Units>(&mut self) -> Result<Q, Slip> {
        let number = self.number()?;
        let power = self.unit::<Q>()?;
        self.value(&number, power)
    }

    fn tolerance<Q: Units>(&mut self, nominal: Q) -> Result<Toleranced<Q>, Slip> {
        self.skip_blanks();
        let sign = ["±", "+-", "+/-"].iter().find(|s| self.rest().starts_with(**s));
        let Some(sign) = sign else {
            return Ok(Toleranced { nominal, lower: nominal, upper: nominal });
        };
        self.at += sign.len();
        let number = self.number()?;
        let half = if self.word("%") {
            nominal.si() * self.value::<uom::si::f64::Ratio>(&number, -2)?.si()
        } else {
            let power = self.unit_or::<Q>("%")?;
            self.value::<Q>(&number, power)?.si()
        };
        if half >= nominal.si() && half > 0.0 {
            let message = "the tolerance must be smaller than the value".into();
            return Err(Slip { span: number.span, message });
        }
        let at = |si: f64| Q::from_si(si);
        Ok(Toleranced { nominal, lower: at(nominal.si() - half), upper: at(nominal.si() + half) })
    }
}

/// The units that are written, one for each power of ten.
pub(super) fn written_units<Q: Units>() -> impl Iterator<Item = (&'static str, i32)> {
    let mut last = i32::MAX;
    Q::UNITS.iter().copied().filter(move |(_, power)| {
        let first = *power < last;
        last = *power;
        first
    })
}

#[cfg(test)]
mod tests;
