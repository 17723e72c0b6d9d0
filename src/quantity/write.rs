//! Quantities as people read them.

use super::parse::written_units;
use super::range::{Limits, Toleranced};
use super::unit::Units;

/// A text as a TOML file has it, in quotes.
pub fn in_quotes(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// Exactly, so that parsing it gives the same number back: `250 mA`.
pub fn exact<Q: Units>(quantity: Q) -> String {
    engineering::<Q>(&format!("{:e}", quantity.si()))
}

/// To four significant digits: `33.33 ms`.
pub fn brief<Q: Units>(quantity: Q) -> String {
    engineering::<Q>(&format!("{:.3e}", quantity.si()))
}

/// Limits, each to four significant digits.
pub fn limits<Q: Units>(limits: Limits<Q>) -> String {
    match (limits.lower, limits.upper) {
        (None, None) => "any".into(),
        (Some(lower), None) => format!("at least {}", brief(lower)),
        (None, Some(upper)) => format!("at most {}", brief(upper)),
        (Some(lower), Some(upper)) => {
            let (lower, upper) = (brief(lower), brief(upper));
            match (lower.split_once(' '), upper.split_once(' ')) {
                (Some((number, a)), Some((_, b))) if a == b => format!("{number} to {upper}"),
                _ => format!("{lower} to {upper}"),
            }
        }
    }
}

/// A nominal value with its tolerance; the tolerance to four significant digits.
pub fn toleranced<Q: Units>(t: Toleranced<Q>) -> String {
    let nominal = t.nominal.si();
    let half = (t.upper.si() - t.lower.si()) / 2.0;
    if half == 0.0 {
        return exact(t.nominal);
    }
    let percent = shift(&format!("{:.3e}", half / nominal), 2);
    format!("{} ±{percent} %", exact(t.nominal))
}

/// Turns `2.5e-1` into `250 mA`: the largest unit that leaves a digit before the point.
fn engineering<Q: Units>(scientific: &str) -> String {
    let exponent = exponent_of(scientific);
    let units: Vec<(&str, i32)> = written_units::<Q>().collect();
    let zero = scientific.bytes().take_while(|b| *b != b'e').all(|b| matches!(b, b'0' | b'.'));
    let fits = |u: &&(&str, i32)| if zero { u.1 == 0 } else { u.1 <= exponent };
    let chosen = units.iter().find(fits).or(units.last());
    let (name, power) = chosen.copied().unwrap_or(("", 0));
    format!("{} {name}", shift(scientific, -power))
}

fn exponent_of(scientific: &str) -> i32 {
    scientific.split_once('e').and_then(|(_, e)| e.parse().ok()).unwrap_or(0)
}

/// Moves the decimal point of a number in scientific notation and writes it plainly, without
/// trailing zeros.
fn shift(scientific: &str, by: i32) -> String {
    let mantissa = scientific.split('e').next().unwrap_or("0");
    let (sign, mantissa) = match mantissa.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", mantissa),
    };
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let point = 1 + exponent_of(scientific) + by;
    let (whole, fraction) = if point <= 0 {
        ("0".to_owned(), "0".repeat(point.unsigned_abs() as usize) + &digits)
    } else {
        let point = point as usize;
        let padded = format!("{digits:0<point$}");
        (padded[..point].to_owned(), padded[point..].to_owned())
    };
    let fraction = fraction.trim_end_matches('0');
    if fraction.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{fraction}") }
}

#[cfg(test)]
mod tests;
