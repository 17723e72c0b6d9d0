//! How far a reference meter may be off.

use crate::quantity::parse;
use crate::quantity::unit::Units;
use crate::quantity::write::brief;
use core::fmt;
use core::str::FromStr;
use uom::si::f64::{ElectricCurrent, Ratio};

/// The accuracy of a reference meter, as its data sheet or certificate states it: a share of the
/// reading and a fixed part, both half-widths of rectangular distributions (GUM 4.3.7). The error of
/// one meter is the same at every point that is read from it, so both parts are fully correlated
/// between points (GUM F.1.2.3).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accuracy {
    /// Share of the reading.
    pub share: f64,
    /// Fixed part, amperes.
    pub fixed_a: f64,
}

/// What an accuracy looks like.
pub const EXAMPLE: &str = "\"0.05 % + 0.1 mA\"";

/// Why a text states no accuracy.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoAccuracy {
    /// It does not read as one.
    #[error(
        "the accuracy of a meter is a share of its reading and a current, such as {EXAMPLE}: {0}"
    )]
    Unreadable(String),
    /// It claims to be exact.
    #[error(
        "no meter is exact: take its accuracy from its data sheet or certificate, such as {EXAMPLE}"
    )]
    Exact,
    /// Nothing can be calibrated by it.
    #[error("a meter that may be off by a tenth of its reading or more calibrates nothing")]
    Poor,
}

impl Accuracy {
    /// Largest error at a reading, amperes.
    pub fn at(&self, ampere: f64) -> f64 {
        self.share * ampere.abs() + self.fixed_a
    }

    /// Checks that it is one that a meter can have.
    ///
    /// # Errors
    /// When it is exact, or too poor to calibrate anything.
    pub fn checked(self) -> Result<Accuracy, NoAccuracy> {
        if self.share <= 0.0 && self.fixed_a <= 0.0 {
            Err(NoAccuracy::Exact)
        } else if self.share >= 0.1 {
            Err(NoAccuracy::Poor)
        } else {
            Ok(self)
        }
    }
}

impl FromStr for Accuracy {
    type Err = NoAccuracy;

    fn from_str(text: &str) -> Result<Self, NoAccuracy> {
        let mut found = Accuracy { share: 0.0, fixed_a: 0.0 };
        for part in text.split('+') {
            let part = part.trim().trim_start_matches('±').trim();
            if part.ends_with('%') {
                let share: Ratio =
                    parse::quantity(part).map_err(|slip| NoAccuracy::Unreadable(slip.message))?;
                found.share += share.si();
            } else {
                let fixed: ElectricCurrent =
                    parse::quantity(part).map_err(|slip| NoAccuracy::Unreadable(slip.message))?;
                found.fixed_a += fixed.si();
            }
        }
        found.checked()
    }
}

impl fmt::Display for Accuracy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let share = brief(Ratio::from_si(self.share));
        let fixed = brief(ElectricCurrent::from_si(self.fixed_a));
        match (self.share > 0.0, self.fixed_a > 0.0) {
            (true, true) => write!(f, "{share} + {fixed}"),
            (true, false) => f.write_str(&share),
            _ => f.write_str(&fixed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_data_sheets_say() {
        for (text, share, fixed_a) in [
            ("0.05 % + 0.1 mA", 5e-4, 1e-4),
            ("±0.2 %", 2e-3, 0.0),
            ("50 uA", 0.0, 5e-5),
            ("0.05 % + 0.1 mA + 20 uA", 5e-4, 1.2e-4),
        ] {
            let found: Accuracy = text.parse().unwrap();
            assert!((found.share - share).abs() < 1e-12 && (found.fixed_a - fixed_a).abs() < 1e-12);
        }
        assert_eq!("0.05% + 0.1 mA".parse::<Accuracy>().unwrap().to_string(), "0.05 % + 100 µA");
    }

    #[test]
    fn refuses_what_cannot_be() {
        assert_eq!("0 %".parse::<Accuracy>(), Err(NoAccuracy::Exact));
        assert_eq!("10 %".parse::<Accuracy>(), Err(NoAccuracy::Poor));
        for text in ["", "good", "0.1", "0.1 V", "-1 %", "0.1 % - 1 mA"] {
            let found = text.parse::<Accuracy>();
            assert!(matches!(found, Err(NoAccuracy::Unreadable(_))), "{text}: {found:?}");
        }
    }
}
