//! A value with its unit, as people say it.

/// Four significant digits with an SI prefix: `312.4 mA`. Counts and shares have no prefix.
pub fn amount(value: f64, unit: &str) -> String {
    if unit == "1" {
        return digits(value);
    }
    let shown_unit = if unit == "ohm" { "Ω" } else { unit };
    // Nobody says 900 mHz.
    let (scale, prefix) =
        if unit == "Hz" && value.abs() < 999.95 { (1.0, "") } else { prefix(value.abs()) };
    format!("{} {prefix}{shown_unit}", digits(value / scale))
}

fn prefix(size: f64) -> (f64, &'static str) {
    // What rounds up to 1000 of one prefix is told as 1 of the next.
    [(1e-9, "n"), (1e-6, "µ"), (1e-3, "m"), (1.0, ""), (1e3, "k")]
        .into_iter()
        .find(|(scale, _)| size != 0.0 && size / scale < 999.95)
        .unwrap_or(if size == 0.0 { (1.0, "") } else { (1e6, "M") })
}

fn digits(value: f64) -> String {
    if value == 0.0 {
        return "0".into();
    }
    let whole = value.abs().log10().floor() as i32 + 1;
    let decimals = (4 - whole).clamp(0, 6) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_carry_prefixes_that_people_use() {
        for (value, unit, shown) in [
            (0.0, "A", "0 A"),
            (0.3124, "A", "312.4 mA"),
            (-0.000_25, "s", "-250 µs"),
            (16.0, "V", "16 V"),
            (1_234_567.0, "ohm", "1.235 MΩ"),
            (0.999_97, "A", "1 A"),
            (0.05, "ohm", "50 mΩ"),
            (2.0, "1", "2"),
            (0.4866, "1", "0.4866"),
            (3e-12, "A", "0.003 nA"),
            (1.5, "Hz", "1.5 Hz"),
            (0.9, "Hz", "0.9 Hz"),
            (-16.0, "V", "-16 V"),
        ] {
            assert_eq!(amount(value, unit), shown);
        }
    }
}
