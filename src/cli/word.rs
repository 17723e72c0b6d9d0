//! Words and figures of the command line that several commands take.

use crate::script::module_sheet::{FORMATS, NUMBERINGS};
use crate::signal::dcc::Numbering;
use crate::signal::target::{Clamp, Format};

/// A whole number, in words that say what it is for.
///
/// # Errors
/// When it is none.
pub fn whole_number(text: &str) -> Result<i64, String> {
    let digits = text.strip_prefix('-').unwrap_or(text);
    if digits.is_empty() || !digits.chars().all(|c| c.is_ascii_digit()) {
        return Err("an address is a whole number, such as 181".into());
    }
    text.parse().map_err(|_| "no address has so many digits".into())
}

/// A number to draw a simulated bench from.
///
/// # Errors
/// When it is none.
pub fn seed(text: &str) -> Result<u64, String> {
    let is_whole = !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
    let number = text.parse().ok().filter(|_| is_whole);
    number
        .ok_or_else(|| format!("a simulated bench is drawn from a whole number, 0 to {}", u64::MAX))
}

/// A command format.
///
/// # Errors
/// The words that there are.
pub fn format(text: &str) -> Result<Format, String> {
    choice(text, &FORMATS, "a format")
}

/// A way of counting addresses.
///
/// # Errors
/// The words that there are.
pub fn numbering(text: &str) -> Result<Numbering, String> {
    choice(text, &NUMBERINGS, "a numbering")
}

/// A clamp.
///
/// # Errors
/// Those that there are.
pub fn clamp(text: &str) -> Result<Clamp, String> {
    let found = Clamp::ALL.into_iter().find(|c| c.to_string() == text);
    found.ok_or_else(|| "the clamps are 1a, 1b, 2a, 2b, 3a, 3b, 4a and 4b".into())
}

/// A resistor that a jig can be held against, in ohms.
///
/// # Errors
/// What will do.
pub fn resistor_ohm(ohm: f64) -> Result<f64, String> {
    let will_do = (1.0..=1e5).contains(&ohm);
    will_do.then_some(ohm).ok_or_else(|| "a resistor of 1 ohm to 100 kohm is wanted".into())
}

fn choice<T: Copy>(text: &str, among: &[(&str, T)], what: &str) -> Result<T, String> {
    let found = among.iter().find(|(name, _)| *name == text);
    let names: Vec<&str> = among.iter().map(|(name, _)| *name).collect();
    found.map(|(_, value)| *value).ok_or_else(|| format!("{what} is {}", names.join(" or ")))
}
/// A day.
///
/// # Errors
/// A sentence.
pub fn date(text: &str) -> Result<jiff::civil::Date, String> {
    text.parse().map_err(|_| "a day is written such as 2026-03-02".to_owned())
}
