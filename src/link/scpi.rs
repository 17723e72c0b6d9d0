//! Numbers as the jig says them, and words that it hears.

use crate::signal::target::Format;

/// What stands for infinity (SCPI-1999, volume 1, 7.2.1.4).
const INFINITY: f64 = 9.9e37;

/// What stands for a value that is not a number (SCPI-1999, volume 1, 7.2.1.5).
const NOT_A_NUMBER: f64 = 9.91e37;

/// A number, perhaps infinite; `None` for what is not one.
pub fn number(said: &str) -> Option<f64> {
    let said = said.trim();
    // Words such as `inf` are numbers to the standard library, but not on the wire.
    let is_numeric = said.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
    let value = said.parse::<f64>().ok().filter(|_| is_numeric)?;
    let size = value.abs();
    if size < INFINITY * 0.999 {
        Some(value)
    } else if (size / NOT_A_NUMBER - 1.0).abs() < 1e-6 {
        None
    } else {
        Some(f64::INFINITY.copysign(value))
    }
}

/// Channels as the wire lists them.
pub fn list(channels: &[u16]) -> String {
    channels.iter().map(u16::to_string).collect::<Vec<_>>().join(",")
}

/// What the feed carries between commands of a format.
pub const fn idle_level(format: Format) -> &'static str {
    match format {
        Format::Dcc => "PACK",
        // Its telegrams begin with a long pause at the low level.
        Format::Trinary => "LOW",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SCPI-1999, volume 1, 7.2.1.4 and 7.2.1.5.
    #[test]
    fn infinity_and_not_a_number_are_told_apart() {
        assert_eq!(number("9.9E+37"), Some(f64::INFINITY));
        assert_eq!(number("-9.9E37"), Some(f64::NEG_INFINITY));
        assert_eq!(number("9.91E+37"), None);
        assert_eq!(number("1E400"), Some(f64::INFINITY));
    }

    #[test]
    fn numbers_are_digits() {
        assert_eq!(number(" 1.25E-4"), Some(1.25e-4));
        assert_eq!(number("-3"), Some(-3.0));
        for said in ["inf", "NaN", "infinity", "", "-", "1,2", "0x10"] {
            assert_eq!(number(said), None, "{said}");
        }
    }
}
