//! One point of a calibration: what the reference says, and what the jig read.

use crate::quantity::parse;
use crate::quantity::unit::Units;
use uom::si::f64::ElectricCurrent;

/// A point. Currents in amperes, uncertainties standard ones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CalibrationPoint {
    /// The current by the reference; exactly 0 where nothing was connected.
    pub reference: f64,
    /// Uncertainty of the reference that this point has for itself: the meter's last digit. What the
    /// meter is off by at all points alike stands in its accuracy.
    pub u_reference: f64,
    /// The jig's reading, not corrected.
    pub reading: f64,
    /// Its uncertainty: noise, resolution, and what moved while the meter was read.
    pub u_reading: f64,
}

impl CalibrationPoint {
    /// Whether nothing was connected: then no meter was read either.
    pub fn is_zero(&self) -> bool {
        self.reference == 0.0
    }
}

/// What an operator has typed in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Typed {
    /// The current, amperes.
    pub ampere: f64,
    /// Value of the last digit, amperes.
    pub digit: f64,
}

impl Typed {
    /// Standard uncertainty by the last digit: half of it either way (GUM 4.3.7).
    pub fn u(&self) -> f64 {
        self.digit / 2.0 / 3f64.sqrt()
    }
}

/// Reads a meter's display: `512.3 mA`.
///
/// # Errors
/// One sentence that says what was expected.
pub fn typed(text: &str) -> Result<Typed, String> {
    let text = text.trim();
    let wanted = "type what the meter shows, with its unit, such as \"512.3 mA\"";
    let current: ElectricCurrent =
        parse::quantity(text).map_err(|slip| format!("{wanted}: {}", slip.message))?;
    let number_end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    let (number, unit) = text.split_at(number_end);
    let decimals = number.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    let one: ElectricCurrent = parse::quantity(&format!("1 {}", unit.trim()))
        .map_err(|slip| format!("{wanted}: {}", slip.message))?;
    if current.si() <= 0.0 {
        return Err(format!("{wanted}: it must be more than zero"));
    }
    let digit = one.si() * 10f64.powi(-i32::try_from(decimals).unwrap_or(i32::MAX));
    if digit > current.si() / 10.0 {
        return Err(format!("{wanted}: with three digits at least"));
    }
    Ok(Typed { ampere: current.si(), digit })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_digit_is_known() {
        for (text, ampere, digit) in [
            ("512.3 mA", 0.5123, 1e-4),
            (" 0.51230 A", 0.5123, 1e-5),
            ("512 mA", 0.512, 1e-3),
            ("16000 uA", 0.016, 1e-6),
        ] {
            let found = typed(text).unwrap();
            assert!((found.ampere - ampere).abs() < 1e-12, "{text}");
            assert!((found.digit / digit - 1.0).abs() < 1e-9, "{text}");
        }
    }

    #[test]
    fn slips_are_told() {
        for (text, told) in [
            ("", "a number is missing"),
            ("about half an ampere", "a number is wanted"),
            ("512.3", "the unit is missing"),
            ("512,3 mA", "decimal point"),
            ("512.3 mV", "not a unit of a current"),
            ("-512.3 mA", "cannot be negative"),
            ("0 mA", "more than zero"),
            ("5 mA", "three digits"),
        ] {
            let error = typed(text).unwrap_err();
            assert!(error.contains(told), "{text}: {error}");
        }
    }
}
