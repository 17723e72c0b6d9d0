//! What a decimal number with its unit is worth.

use super::error::{Error, ErrorCode};
use core::fmt::Write as _;

/// What answers for a value above all that can be told (SCPI-1999, volume 1, 7.2.1.4); its negative for one
/// below.
pub const INFINITY: f64 = 9.9e37;

/// The unit that a number is taken in; without a suffix it is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A plain number; a suffix is refused.
    None,
    /// Volts.
    Volt,
    /// Amperes.
    Ampere,
    /// Seconds.
    Second,
    /// Ohms.
    Ohm,
    /// Hertz.
    Hertz,
}

impl Unit {
    fn symbol(self) -> &'static str {
        match self {
            Unit::None => "",
            Unit::Volt => "V",
            Unit::Ampere => "A",
            Unit::Second => "S",
            Unit::Ohm => "OHM",
            Unit::Hertz => "HZ",
        }
    }

    /// The power of ten that a suffix stands for.
    ///
    /// IEEE 488.2, table 7-2: `MA` is mega and `M` milli, but for `MOHM` and `MHZ`, which are mega.
    /// So `MA` alone, with amperes, is a milliampere.
    fn power(self, suffix: &[u8]) -> Result<i32, Error> {
        if suffix.is_empty() {
            return Ok(0);
        }
        if self == Unit::None {
            return Err(ErrorCode::SuffixNotAllowed.into());
        }
        let symbol = self.symbol().as_bytes();
        let (multiplier, unit) = suffix
            .split_at_checked(suffix.len().wrapping_sub(symbol.len()))
            .ok_or(ErrorCode::InvalidSuffix)?;
        if !unit.eq_ignore_ascii_case(symbol) {
            return Err(ErrorCode::InvalidSuffix.into());
        }
        if multiplier.eq_ignore_ascii_case(b"M") && matches!(self, Unit::Ohm | Unit::Hertz) {
            return Ok(6);
        }
        MULTIPLIERS
            .iter()
            .find(|(name, _)| multiplier.eq_ignore_ascii_case(name.as_bytes()))
            .map(|&(_, power)| power)
            .ok_or(ErrorCode::InvalidSuffix.into())
    }
}

/// IEEE 488.2, table 7-2.
const MULTIPLIERS: [(&str, i32); 13] = [
    ("", 0),
    ("EX", 18),
    ("PE", 15),
    ("T", 12),
    ("G", 9),
    ("MA", 6),
    ("K", 3),
    ("M", -3),
    ("U", -6),
    ("N", -9),
    ("P", -12),
    ("F", -15),
    ("A", -18),
];

/// The value, rounded once: the unit's power of ten joins the exponent before the conversion.
///
/// Errors: -131 and -138 about the suffix; -222 where the value is beyond any double.
pub fn value(mantissa: &[u8], exponent: i32, suffix: &[u8], unit: Unit) -> Result<f64, Error> {
    let power = exponent + unit.power(suffix)?;
    // As long as a line, and so as long as any mantissa, with room for the exponent.
    let mut text = heapless::String::<{ super::limits::LINE_MAX + 8 }>::new();
    let value: f64 = core::str::from_utf8(mantissa)
        .ok()
        .and_then(|mantissa| write!(text, "{mantissa}e{power}").ok())
        .and_then(|()| text.parse().ok())
        .ok_or(ErrorCode::NumericData)?;
    if value.is_finite() { Ok(value) } else { Err(ErrorCode::DataOutOfRange.into()) }
}

/// The nearest whole number, halves away from zero (IEEE 488.2, 7.7.2.4: numbers are rounded).
pub fn round(value: f64) -> i64 {
    let whole = value as i64;
    let part = value - whole as f64;
    whole.saturating_add((part >= 0.5) as i64).saturating_sub((part <= -0.5) as i64)
}
