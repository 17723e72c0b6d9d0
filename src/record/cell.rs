//! The cells of our CSV files: numbers, times, and text made safe.

use std::borrow::Cow;

/// A number with a decimal point, as short as it can be and still be read back to the same value.
/// What is not finite is no number and gives an empty cell.
pub fn number(value: Option<f64>) -> String {
    match value {
        None => String::new(),
        Some(v) if !v.is_finite() => String::new(),
        // Also minus zero.
        Some(0.0) => "0".into(),
        Some(v) if (1e-6..1e15).contains(&v.abs()) => v.to_string(),
        Some(v) => format!("{v:E}"),
    }
}

/// A time of day after RFC 3339, with its offset, to the second.
pub fn time(at: &jiff::ZonedDateTime) -> String {
    at.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// `yes` or `no`.
pub fn yes_no(value: bool) -> String {
    if value { "yes" } else { "no" }.into()
}

/// Text that a spreadsheet shows and never runs: a cell that would be taken for a formula gets an
/// apostrophe in front (`common practice`; after OWASP, "CSV Injection"). Plain numbers stay.
/// Control characters become spaces, since people also look at these files in a terminal.
pub fn text(text: &str) -> String {
    let mut cell: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if runs(&cell) {
        cell.insert(0, '\'');
    }
    cell
}

/// The text that [`text`] made a cell of.
pub fn bare(cell: &str) -> Cow<'_, str> {
    match cell.strip_prefix('\'') {
        Some(rest) if runs(rest) => Cow::Borrowed(rest),
        _ => Cow::Borrowed(cell),
    }
}

/// Whether a spreadsheet would run it. Leading spaces are looked through, as some programs do, and
/// leading apostrophes, so that protecting can always be undone.
fn runs(text: &str) -> bool {
    let inner = text.trim_start_matches(['\'', ' ']);
    inner.starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']) && !is_plain_number(inner)
}

fn is_plain_number(text: &str) -> bool {
    text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'+' | b'-' | b'.' | b'e' | b'E'))
        && text.parse::<f64>().is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_are_plain() {
        for (value, cell) in [
            (0.1, "0.1"),
            (-0.5, "-0.5"),
            (-0.0, "0"),
            (12.0, "12"),
            (0.000_25, "0.00025"),
            (1.5e-7, "1.5E-7"),
            (2e20, "2E20"),
            (f64::NAN, ""),
            (f64::INFINITY, ""),
        ] {
            assert_eq!(number(Some(value)), cell);
        }
        assert_eq!(number(None), "");
    }

    #[test]
    fn formulas_are_made_safe_and_numbers_are_not_touched() {
        for (given, cell) in [
            ("=1+1", "'=1+1"),
            ("+cmd", "'+cmd"),
            ("-2+3", "'-2+3"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1", "' =1"),
            ("\r=1", "' =1"),
            ("-0.5", "-0.5"),
            ("+3E-4", "+3E-4"),
            ("-inf", "'-inf"),
            ("'=1", "''=1"),
            ("'s ochtends", "'s ochtends"),
            ("quay", "quay"),
            ("red\u{1b}[31m", "red [31m"),
        ] {
            assert_eq!(text(given), cell, "{given:?}");
        }
    }

    #[test]
    fn times_carry_the_offset() {
        let at: jiff::ZonedDateTime =
            "2026-01-05T09:00:00.25+05:30[Asia/Kolkata]".parse().expect("a time");
        assert_eq!(time(&at), "2026-01-05T09:00:00+05:30");
    }

    proptest! {
        #[test]
        fn numbers_read_back_to_the_same_value(v in any::<f64>().prop_filter("finite", |v| v.is_finite())) {
            prop_assert_eq!(number(Some(v)).parse::<f64>().expect("a number"), v);
        }

        #[test]
        fn protecting_can_be_undone(s in "['=+@a1.-]{0,8}|\\PC{0,12}") {
            let cell = text(&s);
            prop_assert_eq!(bare(&cell), s);
        }

        #[test]
        fn no_text_cell_runs(s in any::<String>()) {
            let cell = text(&s);
            prop_assert!(!cell.chars().any(char::is_control));
            let danger = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
            prop_assert!(!danger || cell.parse::<f64>().is_ok());
        }
    }
}
