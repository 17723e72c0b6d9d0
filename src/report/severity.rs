//! A severity as people say it.

use crate::report::amount::amount;

/// A severity with its unit.
pub fn said(severity: f64, unit: &str) -> String {
    match unit {
        "share" => format!("{} %", amount(100.0 * severity, "1")),
        "ohm" | "s" | "A" | "V" => amount(severity, unit),
        counted if severity == 1.0 => format!("1 {}", one_of(counted)),
        counted => format!("{severity} {counted}"),
    }
}

/// One of several.
fn one_of(several: &str) -> &str {
    several
        .strip_suffix("es")
        .filter(|one| one.ends_with("ch"))
        .unwrap_or_else(|| several.strip_suffix('s').unwrap_or(several))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_no_plural_and_a_share_is_in_per_cent() {
        for (severity, unit, told) in [
            (1.0, "switches", "1 switch"),
            (1.0, "closers", "1 closer"),
            (1.0, "outputs", "1 output"),
            (3.0, "switches", "3 switches"),
            (0.126, "ohm", "126 mΩ"),
            (-0.08, "share", "-8 %"),
        ] {
            assert_eq!(said(severity, unit), told);
        }
    }
}
