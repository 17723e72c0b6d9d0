//! The filter before a converter: what all that is read of a jump knows of it.

/// Its time constant, seconds (`docs/jig-analogue.md`).
pub const FILTER_S: f64 = 16e-6;

/// What is left open of the instant of a jump by conversions an interval apart, of which the sum tells it: the
/// half-width of the rectangle with as much variance, in intervals.
///
/// Without a filter the instant may lie anywhere between two conversions: half an interval. Behind one, the
/// conversion just after the jump shows part of it. An instant at φ of an interval before the next conversion is told
/// off by φ + Σ exp(−(φ + k)/r), where r is the filter's time constant in intervals; φ is spread evenly, and this is
/// the variance of that.
pub fn between_conversions(interval_s: f64) -> f64 {
    let r = FILTER_S / interval_s;
    let left = (-1.0 / r).exp();
    let variance = 1.0 / 12.0 + r * r - r / 2.0 - r * left / (1.0 - left);
    (3.0 * variance.max(0.0)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same by summing up.
    #[test]
    fn the_variance_is_that_of_the_sum() {
        const PLACES: u32 = 20_000;
        for interval_s in [2e-5, 1e-4, 5e-4, 4e-3] {
            let r = FILTER_S / interval_s;
            let off = |i: u32| {
                let phase = (f64::from(i) + 0.5) / f64::from(PLACES);
                phase + (0..200).map(|k| (-(phase + f64::from(k)) / r).exp()).sum::<f64>()
            };
            let mean = (0..PLACES).map(off).sum::<f64>() / f64::from(PLACES);
            let variance =
                (0..PLACES).map(|i| (off(i) - mean).powi(2)).sum::<f64>() / f64::from(PLACES);
            let half = between_conversions(interval_s);
            assert!((half * half / 3.0 - variance).abs() < 1e-6, "{interval_s}: {half}");
        }
        assert!((between_conversions(1.0) - 0.5).abs() < 1e-4);
    }
}
