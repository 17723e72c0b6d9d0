//! Resistances as they stand on the part: letter and digit codes, tolerance letters, rings; plain
//! numbers with a tolerance.
//!
//! Source: IEC 60062 (marking codes for resistors and capacitors); the rings' tolerances from
//! memory.

use crate::quantity::parse::{self, Slip};
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricalResistance, Ratio};

/// Letters of symmetrical tolerances, in per cent.
const LETTERS: [(char, f64); 14] = [
    ('E', 0.005),
    ('L', 0.01),
    ('P', 0.02),
    ('W', 0.05),
    ('B', 0.1),
    ('C', 0.25),
    ('D', 0.5),
    ('F', 1.0),
    ('G', 2.0),
    ('H', 3.0),
    ('J', 5.0),
    ('K', 10.0),
    ('M', 20.0),
    ('N', 30.0),
];

/// A ring: its colour, its digit, its power of ten, its tolerance in per cent.
type Ring = (&'static str, Option<u8>, Option<i32>, Option<f64>);

const RINGS: [Ring; 13] = [
    ("pink", None, Some(-3), None),
    ("silver", None, Some(-2), Some(10.0)),
    ("gold", None, Some(-1), Some(5.0)),
    ("black", Some(0), Some(0), None),
    ("brown", Some(1), Some(1), Some(1.0)),
    ("red", Some(2), Some(2), Some(2.0)),
    ("orange", Some(3), Some(3), Some(0.05)),
    ("yellow", Some(4), Some(4), Some(0.02)),
    ("green", Some(5), Some(5), Some(0.5)),
    ("blue", Some(6), Some(6), Some(0.25)),
    ("violet", Some(7), Some(7), Some(0.1)),
    ("grey", Some(8), Some(8), Some(0.01)),
    ("white", Some(9), Some(9), None),
];

/// A resistance that is three rings wide has this tolerance, in per cent.
const WITHOUT_RING: f64 = 20.0;

/// A resistance with its tolerance, as a quantity (`22 ohm ±5 %`), with a tolerance letter
/// (`22 ohm J`), as a letter and digit code (`4K7`, `4K7J`) or by its rings
/// (`yellow violet red gold`).
///
/// # Errors
/// When it is none of these.
pub fn resistance(text: &str) -> Result<Toleranced<ElectricalResistance>, Slip> {
    let text = text.trim_end();
    if let Some(found) = with_letter(text).or_else(|| code(text)) {
        return Ok(found);
    }
    rings(text).unwrap_or_else(|| parse::toleranced(text))
}

/// A plain number with its tolerance: `8`, `8 ±25 %`, `8 ±2`.
///
/// # Errors
/// When it is none.
pub fn ratio(text: &str) -> Result<Toleranced<Ratio>, Slip> {
    let slip = |message: &str| Slip { span: 0..text.len(), message: message.to_owned() };
    let number = |text: &str| {
        let plain = text.chars().all(|c| c.is_ascii_digit() || c == '.');
        text.parse::<f64>().ok().filter(|n| plain && n.is_finite())
    };
    let (nominal, tolerance) = match text.replace("+-", "±").split_once('±') {
        Some((nominal, tolerance)) => (nominal.to_owned(), tolerance.trim().to_owned()),
        None => (text.to_owned(), "0".to_owned()),
    };
    let nominal = number(nominal.trim()).ok_or_else(|| slip("it begins with a number"))?;
    let half = match tolerance.strip_suffix('%') {
        Some(percent) => number(percent.trim()).map(|p| nominal * p / 100.0),
        None => number(&tolerance),
    };
    let half = half.ok_or_else(|| slip("after ± comes a number, with or without %"))?;
    let [nominal, lower, upper] = [nominal, nominal - half, nominal + half].map(Ratio::from_si);
    Ok(Toleranced { nominal, lower, upper })
}

fn tolerance_of(letter: char) -> Option<f64> {
    LETTERS.iter().find(|l| l.0 == letter).map(|l| l.1)
}

fn within(ohm: f64, percent: f64) -> Toleranced<ElectricalResistance> {
    let at = |by: f64| ElectricalResistance::from_si(ohm * (1.0 + by / 100.0));
    Toleranced { nominal: at(0.0), lower: at(-percent), upper: at(percent) }
}

/// `22 ohm J`
fn with_letter(text: &str) -> Option<Toleranced<ElectricalResistance>> {
    let (quantity, letter) = text.rsplit_once(char::is_whitespace)?;
    let mut letters = letter.chars();
    let percent = tolerance_of(letters.next()?).filter(|_| letters.next().is_none())?;
    let ohm: ElectricalResistance = parse::quantity(quantity).ok()?;
    Some(within(ohm.si(), percent))
}

/// `4K7`, `4K7J`, `R47`, `22R`
fn code(text: &str) -> Option<Toleranced<ElectricalResistance>> {
    let point = text.find(|c: char| !c.is_ascii_digit())?;
    let power = match text.as_bytes()[point] {
        b'R' => 0,
        b'K' => 3,
        b'M' => 6,
        _ => return None,
    };
    let (whole, rest) = (&text[..point], &text[point + 1..]);
    let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    let (fraction, letter) = rest.split_at(end);
    let percent = match letter.chars().collect::<Vec<_>>()[..] {
        [] => 0.0,
        [letter] => tolerance_of(letter)?,
        _ => return None,
    };
    if whole.len() + fraction.len() == 0 || whole.len() + fraction.len() > 9 {
        return None;
    }
    let ohm: f64 = format!("0{whole}.{fraction}0e{power}").parse().ok()?;
    Some(within(ohm, percent))
}

/// `yellow violet red gold`; `None` when the first word is no colour.
fn rings(text: &str) -> Option<Result<Toleranced<ElectricalResistance>, Slip>> {
    let ring = |word: &str| RINGS.iter().find(|r| word.eq_ignore_ascii_case(r.0));
    let words: Vec<&str> =
        text.split(|c: char| !c.is_alphabetic()).filter(|w| !w.is_empty()).collect();
    ring(words.first()?)?;
    let slip = |message: &str| Slip { span: 0..text.len(), message: message.to_owned() };
    let Some(found) = words.iter().map(|word| ring(word)).collect::<Option<Vec<_>>>() else {
        let known: Vec<&str> = RINGS.iter().map(|r| r.0).collect();
        return Some(Err(slip(&format!("rings are {}", known.join(", ")))));
    };
    // A sixth ring states the temperature coefficient.
    let digits = match found.len() {
        3 | 4 => 2,
        5 | 6 => 3,
        _ => return Some(Err(slip("a resistor has three to six rings"))),
    };
    let mut ohm = 0.0;
    for ring in &found[..digits] {
        let Some(digit) = ring.1 else {
            return Some(Err(slip(&format!("{} is no digit: read it from the other end", ring.0))));
        };
        ohm = 10.0 * ohm + f64::from(digit);
    }
    // Every colour may be a multiplier.
    ohm *= 10f64.powi(found[digits].2.unwrap_or(0));
    let percent = match found.get(digits + 1) {
        None => Some(WITHOUT_RING),
        Some(ring) => ring.3,
    };
    Some(percent.map(|p| within(ohm, p)).ok_or_else(|| {
        slip("the ring of the tolerance cannot have this colour: read it from the other end")
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> (f64, f64) {
        let t = resistance(text).unwrap_or_else(|slip| panic!("{text}: {}", slip.message));
        (t.nominal.si(), 100.0 * (t.upper.si() / t.nominal.si() - 1.0))
    }

    /// The examples of the letter and digit code in IEC 60062, table 1 and 3 (by way of the
    /// encyclopaedias that quote them), and the tolerance letters of its table for resistors.
    #[test]
    fn codes_of_the_standard() {
        for (text, ohm, percent) in [
            ("R47", 0.47, 0.0),
            ("4R7", 4.7, 0.0),
            ("470R", 470.0, 0.0),
            ("4K7", 4700.0, 0.0),
            ("47K3", 47_300.0, 0.0),
            ("4M7", 4.7e6, 0.0),
            ("4K7J", 4700.0, 5.0),
            ("22RK", 22.0, 10.0),
            ("10KM", 10_000.0, 20.0),
            ("22 ohm F", 22.0, 1.0),
            ("4.7 kohm G", 4700.0, 2.0),
            ("22 ohm ±5 %", 22.0, 5.0),
            ("22 ohm", 22.0, 0.0),
        ] {
            let (o, p) = found(text);
            assert!((o / ohm - 1.0).abs() < 1e-12 && (p - percent).abs() < 1e-9, "{text}: {o} {p}");
        }
    }

    #[test]
    fn numbers_with_a_tolerance() {
        for (text, ends) in [
            ("8", [8.0, 8.0]),
            ("8 ±25 %", [6.0, 10.0]),
            ("8+-2", [6.0, 10.0]),
            ("7.5 ± 10%", [6.75, 8.25]),
        ] {
            let t = ratio(text).unwrap_or_else(|slip| panic!("{text}: {}", slip.message));
            assert_eq!([t.lower.si(), t.upper.si()], ends, "{text}");
        }
        for text in ["", "x", "8 ±", "8 ±x %", "8 %", "-8", "8 ±1e400", "8 ±2 ±3", "inf"] {
            assert!(ratio(text).is_err(), "{text}");
        }
    }

    /// The rings that every textbook shows: yellow, violet, red and gold are 4.7 kilohms ±5 %.
    #[test]
    fn rings_of_the_textbook() {
        for (text, ohm, percent) in [
            ("yellow violet red gold", 4700.0, 5.0),
            ("red red black gold", 22.0, 5.0),
            ("brown black black brown brown", 1000.0, 1.0),
            ("Red, Red, Gold, Silver", 2.2, 10.0),
            ("orange orange brown", 330.0, 20.0),
        ] {
            let (o, p) = found(text);
            assert!((o / ohm - 1.0).abs() < 1e-12 && (p - percent).abs() < 1e-9, "{text}: {o} {p}");
        }
    }

    #[test]
    fn what_is_no_marking_is_told() {
        for text in [
            "",
            "22",
            "K",
            "4K7X",
            "4K7JJ",
            "22 ohm X",
            "gold red red brown",
            "red red",
            "red rad red",
            "red red black black",
            "12345678901R",
        ] {
            assert!(resistance(text).is_err(), "{text}");
        }
    }
}
