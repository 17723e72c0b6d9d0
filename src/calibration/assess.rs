//! From the points of a channel to its line, or to the reason why it has none.
//!
//! The non-linearity that the jig states for a channel is one of the uncertainties of each point. So
//! two tests of fit (GUM H.3.2 asks for them, NIST/SEMATECH e-Handbook of Statistical Methods,
//! 4.4.4, describes them) ask whether the channel is as linear as it says: the largest residual, and
//! chi-square over all of them. Where the residuals scatter more than stated but not too much for
//! chance, the uncertainties grow with them (the Birge ratio: R. T. Birge, "The calculation of
//! errors by the method of least squares", Physical Review 40 (1932) 207).

use super::point::CalibrationPoint;
use super::reference::Accuracy;
use super::straight_line::{self, Line, NoLine, Point};
use crate::measure::channel_class::ChannelClass;
use crate::measure::uncertainty::Component;
use crate::quantity::unit::Units;
use crate::quantity::write::brief;
use statrs::distribution::{ChiSquared, ContinuousCDF};
use uom::si::f64::{ElectricCurrent, Ratio};

/// Points that a channel needs: zero, and three currents. Two of them make the line, two are left to
/// tell whether it is one (common practice, no source).
pub const NEEDED: usize = 4;

/// A sound channel is refused by chance once in so many calibrations.
const LEVEL: f64 = 0.99;

/// A residual may be as large as the stated non-linearity and so many standard uncertainties of the
/// rest.
const SIGMAS: f64 = 3.0;

/// A channel this many times outside its class is broken, not in need of a calibration (common
/// practice, no source).
const BEYOND_CLASS: f64 = 3.0;

/// A channel's line, with all that is uncertain about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// True current where the jig reads zero, amperes.
    pub offset: f64,
    /// True current over the jig's reading.
    pub gain: f64,
    /// Standard uncertainty of the offset, the reference's included.
    pub u_offset: f64,
    /// Standard uncertainty of the gain, the reference's included.
    pub u_gain: f64,
    /// Correlation coefficient of the two.
    pub correlation: f64,
    /// Degrees of freedom of both: infinite when the uncertainties are those that were stated, the
    /// residuals' when these have widened them.
    pub freedom: f64,
    /// Weighted sum of the squared residuals.
    pub chi_square: f64,
    /// Degrees of freedom of the residuals.
    pub dof: usize,
    /// The reference less the line, point by point, amperes.
    pub residuals: Vec<f64>,
}

/// Why a channel has no calibration. Points count from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// Too few points.
    #[error("it has {found} points and needs {NEEDED}: zero and three currents at least")]
    TooFew {
        /// How many there are.
        found: usize,
    },
    /// The zero is missing.
    #[error("its zero is missing: the first point is taken with nothing connected")]
    NoZero,
    /// Two points are one and the same.
    #[error("points {0} and {1} are the same: connect another resistor for each point")]
    Same(usize, usize),
    /// Two points cannot both be right.
    #[error(
        "points {first} and {second} contradict each other: the reference goes from {reference} \
         while the jig goes from {reading}; look at the meter's range and at what was typed"
    )]
    Contradiction {
        /// One of them.
        first: usize,
        /// The other one.
        second: usize,
        /// The reference's two values.
        reference: String,
        /// The jig's two values.
        reading: String,
    },
    /// No line can be told.
    #[error(transparent)]
    NoLine(#[from] NoLine),
    /// One point lies off the line.
    #[error(
        "it is not linear enough: point {point} lies {residual} off the line, and {allowed} is the \
         most that its stated non-linearity and the uncertainties allow"
    )]
    Residual {
        /// Which.
        point: usize,
        /// By how much.
        residual: String,
        /// How much it may.
        allowed: String,
    },
    /// All points together scatter too much.
    #[error(
        "it is not linear enough: chi-square over its residuals is {chi_square:.1}, and {limit:.1} \
         is the most that chance allows"
    )]
    Scatter {
        /// The sum.
        chi_square: f64,
        /// Its quantile.
        limit: f64,
    },
    /// The line is not one that this kind of jig can have.
    #[error(
        "its {what} is off by {by}, far more than the {limit} of its class: the jig needs repair, or \
         something else was measured than the reference read"
    )]
    BeyondClass {
        /// `gain` or `offset`.
        what: &'static str,
        /// By how much.
        by: String,
        /// The class.
        limit: String,
    },
}

/// Fits a channel's points.
///
/// # Errors
/// Why it is refused.
pub fn fit(
    points: &[CalibrationPoint],
    accuracy: &Accuracy,
    linearity_a: f64,
) -> Result<Fitted, Refusal> {
    if points.len() < NEEDED {
        return Err(Refusal::TooFew { found: points.len() });
    }
    if !points.iter().any(CalibrationPoint::is_zero) {
        return Err(Refusal::NoZero);
    }
    let u_linearity = Component::rectangular(linearity_a).standard;
    let on_plane: Vec<Point> = points
        .iter()
        .map(|p| Point {
            x: p.reading,
            u_x: p.u_reading.hypot(u_linearity),
            y: p.reference,
            u_y: p.u_reference,
        })
        .collect();
    refuse_contradictions(points, linearity_a)?;
    let line = straight_line::fit(&on_plane)?;
    refuse_residuals(points, &line, linearity_a)?;
    let limit = ChiSquared::new(line.dof as f64).map_or(f64::INFINITY, |d| d.inverse_cdf(LEVEL));
    if line.chi_square > limit {
        return Err(Refusal::Scatter { chi_square: line.chi_square, limit });
    }
    let ratio = line.chi_square / line.dof as f64;
    let freedom = if ratio > 1.0 { line.dof as f64 } else { f64::INFINITY };
    Ok(with_reference(line.widened(ratio.max(1.0)), points, accuracy, freedom))
}

/// Refuses a line that lies far outside the channel's class.
///
/// # Errors
/// Why it is refused.
pub fn against_class(fitted: &Fitted, class: &ChannelClass) -> Result<(), Refusal> {
    let amperes = |a: f64| brief(ElectricCurrent::from_si(a));
    let share = |s: f64| brief(Ratio::from_si(s));
    let gain_off = (1.0 / fitted.gain - 1.0).abs();
    if gain_off - 2.0 * fitted.u_gain > BEYOND_CLASS * class.gain {
        let (by, limit) = (share(gain_off), share(class.gain));
        return Err(Refusal::BeyondClass { what: "gain", by, limit });
    }
    if fitted.offset.abs() - 2.0 * fitted.u_offset > BEYOND_CLASS * class.offset {
        let (by, limit) = (amperes(fitted.offset.abs()), amperes(class.offset));
        return Err(Refusal::BeyondClass { what: "offset", by, limit });
    }
    Ok(())
}

/// Points that cannot stand on one line whose gain is anywhere near one.
fn refuse_contradictions(points: &[CalibrationPoint], linearity_a: f64) -> Result<(), Refusal> {
    for (i, a) in points.iter().enumerate() {
        for (j, b) in points.iter().enumerate().skip(i + 1) {
            if a.reading == b.reading && a.reference == b.reference {
                return Err(Refusal::Same(i + 1, j + 1));
            }
            let by_reference = b.reference - a.reference;
            let by_reading = b.reading - a.reading;
            let u = [a.u_reading, b.u_reading, a.u_reference, b.u_reference]
                .iter()
                .fold(0.0, |sum: f64, u| sum.hypot(*u));
            let room = SIGMAS * u + 2.0 * linearity_a;
            let half = 0.5 * by_reading.abs().max(by_reference.abs());
            if (by_reference - by_reading).abs() > half + room {
                let pair = |from: f64, to: f64| {
                    let [from, to] = [from, to].map(|a| brief(ElectricCurrent::from_si(a)));
                    format!("{from} to {to}")
                };
                return Err(Refusal::Contradiction {
                    first: i + 1,
                    second: j + 1,
                    reference: pair(a.reference, b.reference),
                    reading: pair(a.reading, b.reading),
                });
            }
        }
    }
    Ok(())
}

fn refuse_residuals(
    points: &[CalibrationPoint],
    line: &Line,
    linearity_a: f64,
) -> Result<(), Refusal> {
    let worst = points
        .iter()
        .zip(&line.residuals)
        .map(|(p, residual)| {
            let u = p.u_reference.hypot(line.gain * p.u_reading);
            (residual.abs(), linearity_a + SIGMAS * u)
        })
        .enumerate()
        .max_by(|(_, a), (_, b)| (a.0 - a.1).total_cmp(&(b.0 - b.1)));
    match worst {
        Some((at, (residual, allowed))) if residual > allowed => Err(Refusal::Residual {
            point: at + 1,
            residual: brief(ElectricCurrent::from_si(residual)),
            allowed: brief(ElectricCurrent::from_si(allowed)),
        }),
        _ => Ok(()),
    }
}

/// Adds what the reference is off by at all points alike: how far the line moves with it.
fn with_reference(
    line: Line,
    points: &[CalibrationPoint],
    accuracy: &Accuracy,
    freedom: f64,
) -> Fitted {
    let moved_by = |error_at: &dyn Fn(&CalibrationPoint) -> f64| {
        let by_meter = points.iter().zip(&line.influences).filter(|(p, _)| !p.is_zero());
        by_meter.fold([0.0; 2], |sum, (p, influence)| {
            [sum[0] + influence[0] * error_at(p), sum[1] + influence[1] * error_at(p)]
        })
    };
    let share = Component::rectangular(accuracy.share).standard;
    let fixed = Component::rectangular(accuracy.fixed_a).standard;
    let shifts = [moved_by(&|p| share * p.reference), moved_by(&|_| fixed)];
    let (mut var_offset, mut var_gain) = (line.u_offset.powi(2), line.u_gain.powi(2));
    let mut covariance = line.covariance;
    for [offset, gain] in shifts {
        var_offset += offset * offset;
        var_gain += gain * gain;
        covariance += offset * gain;
    }
    let (u_offset, u_gain) = (var_offset.sqrt(), var_gain.sqrt());
    Fitted {
        offset: line.offset,
        gain: line.gain,
        u_offset,
        u_gain,
        correlation: (covariance / (u_offset * u_gain)).clamp(-1.0, 1.0),
        freedom,
        chi_square: line.chi_square,
        dof: line.dof,
        residuals: line.residuals,
    }
}

#[cfg(test)]
#[path = "assess/tests.rs"]
mod tests;
