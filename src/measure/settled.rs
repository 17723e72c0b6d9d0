//! The end of a record, where things have settled, and how far a window still drifts.

use std::ops::Range;

/// The last `share` of a record, but at least `least` samples where there are as many.
pub fn tail(length: usize, share: f64, least: usize) -> Range<usize> {
    let wanted = ((length as f64 * share) as usize).max(least).min(length);
    length - wanted..length
}

/// How far the samples of a window move over it, by a straight line of least squares through what
/// they lie `off` their mean, where that line is steeper than noise explains (three standard
/// deviations of its slope); else 0.
///
/// `correlated` is the factor by which autocorrelation widens the variance of a mean (1 for white
/// noise).
pub fn drift(off: &[f64], correlated: f64) -> f64 {
    let n = off.len();
    if n < 8 {
        return 0.0;
    }
    let nf = n as f64;
    let centre = (nf - 1.0) / 2.0;
    let mut sxy = 0.0;
    let mut syy = 0.0;
    for (i, y) in off.iter().enumerate() {
        sxy += (i as f64 - centre) * y;
        syy += y * y;
    }
    let sxx = nf * (nf * nf - 1.0) / 12.0;
    let slope = sxy / sxx;
    let left = (syy - slope * sxy).max(0.0) / (nf - 2.0);
    let slope_u = (left * correlated / sxx).sqrt();
    if slope.abs() > 3.0 * slope_u { slope * (nf - 1.0) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tail_takes_no_more_than_there_is() {
        assert_eq!(tail(100, 0.2, 10), 80..100);
        assert_eq!(tail(100, 0.2, 50), 50..100);
        assert_eq!(tail(5, 0.2, 50), 0..5);
    }

    #[test]
    fn a_ramp_drifts_by_its_rise_and_a_level_not_at_all() {
        let ramp: Vec<f64> = (0..101).map(|i| f64::from(i - 50) * 0.01).collect();
        assert!((drift(&ramp, 1.0) - 1.0).abs() < 1e-5);
        let noise: Vec<f64> = (0..100).map(|i| if (i * 7) % 5 > 2 { 1.0 } else { -1.0 }).collect();
        assert_eq!(drift(&noise, 1.0), 0.0);
    }
}
