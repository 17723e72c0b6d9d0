//! How many digits of a number stand in a record: those after a thousandth of its uncertainty are
//! noise.

/// Digits that are kept of what has no uncertainty.
const EXACT: usize = 9;

/// A number, rounded to the digit in which a thousandth of the uncertainty lies; without one, or
/// with none at all, to nine digits that count.
pub fn rounded(value: f64, uncertainty: Option<f64>) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let step = match uncertainty {
        Some(u) if u.is_finite() && u > 0.0 => (u / 1000.0).log10().floor(),
        _ => value.abs().log10().floor() - (EXACT as f64 - 1.0),
    };
    // Digits that count up to that step; a value far below it has none left.
    let first = value.abs().log10().floor();
    let count = first - step;
    if count < -1.0 {
        return 0.0;
    }
    if count < 0.0 {
        // It rounds to none or to one of the steps.
        let one = 10f64.powf(step);
        return if value.abs() < one / 2.0 { 0.0 } else { decimal(one.copysign(value), 0) };
    }
    decimal(value, count.min(16.0) as usize)
}

/// The decimal number with so many digits behind its first one.
fn decimal(value: f64, digits: usize) -> f64 {
    // A number that was just written can be read.
    format!("{value:.digits$e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn digits_end_at_a_thousandth_of_the_uncertainty() {
        for (value, uncertainty, kept) in [
            (0.538290457783089, Some(0.0031377234752243597), 0.53829),
            (0.0031377234752243597, Some(0.0031377234752243597), 0.003138),
            (0.5137208225590721, Some(0.0031377234752243597), 0.513721),
            (0.02244307399037204, Some(0.00005660196902115183), 0.02244307),
            (30_000.123_456, Some(25.0), 30_000.12),
            (123_456.0, Some(40_000.0), 123_460.0),
            (4e-9, Some(0.5), 0.0),
            (0.02, None, 0.02),
            (1.0 / 3.0, None, 0.333333333),
            (7.0, Some(0.0), 7.0),
        ] {
            let found = rounded(value, uncertainty);
            // The uncertainty's own thousandth lies within its decade: at most one digit more.
            assert!(
                (found - kept).abs() <= uncertainty.unwrap_or(0.0) / 1000.0,
                "{value}: {found}"
            );
        }
        assert_eq!(rounded(0.538290457783089, Some(0.0031377234752243597)), 0.53829);
        assert_eq!(rounded(1.0 / 3.0, None), 0.333333333);
    }

    proptest! {
        #[test]
        fn what_is_left_out_is_less_than_a_thousandth(
            value in -1e6f64..1e6, exponent in -9f64..3.0,
        ) {
            let uncertainty = 10f64.powf(exponent);
            let left_out = (rounded(value, Some(uncertainty)) - value).abs();
            prop_assert!(left_out <= uncertainty / 1000.0 + value.abs() * f64::EPSILON);
        }

        #[test]
        fn rounding_again_changes_nothing(value in -1e6f64..1e6, exponent in -9f64..3.0) {
            let uncertainty = 10f64.powf(exponent);
            let once = rounded(value, Some(uncertainty));
            prop_assert_eq!(rounded(once, Some(uncertainty)), once);
        }
    }
}
