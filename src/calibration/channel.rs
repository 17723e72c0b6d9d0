//! The calibration of one channel.

use super::assess::{self, Fitted, Refusal};
use super::correction::Correction;
use super::point::CalibrationPoint;
use super::reference::Accuracy;
use crate::measure::channel_class::{ChannelClass, Corrected};
use jiff::Timestamp;

/// By how much offset and gain of a channel may drift in a year, as a share of the limits of its
/// class, unless the file says otherwise: common practice, no source.
pub const DRIFT_SHARE: f64 = 0.2;

/// Seconds of a year.
const YEAR_S: f64 = 365.25 * 86_400.0;

/// By how much a channel may drift in a year: half-widths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drift {
    /// The offset, amperes a year.
    pub offset_a: f64,
    /// The gain, relative, a year.
    pub gain: f64,
}

impl Drift {
    /// What is allowed for where nothing better is known.
    pub fn of_class(class: &ChannelClass) -> Drift {
        Drift { offset_a: DRIFT_SHARE * class.offset, gain: DRIFT_SHARE * class.gain }
    }
}

/// What a jig said of itself before a channel was calibrated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SelfTested {
    /// The number of the check that failed; 0: none.
    pub result: u16,
    /// What the channel read with nothing flowing, amperes: taken off all that it reads.
    pub zero_a: f64,
}

/// A calibrated channel.
#[derive(Clone, Debug, PartialEq)]
pub struct ChannelCalibration {
    /// The jig's number of the channel.
    pub channel: u16,
    /// When, RFC 3339.
    pub date: String,
    /// By whom; may be empty.
    pub operator: String,
    /// What the reference meter is, in the operator's words; may be empty.
    pub reference: String,
    /// How far the reference may be off.
    pub accuracy: Accuracy,
    /// What the jig said of itself before anything came on; `None` in older files.
    pub self_test: Option<SelfTested>,
    /// The non-linearity that the jig states, amperes.
    pub linearity_a: f64,
    /// By how much it may drift.
    pub drift: Drift,
    /// The points, the zero first.
    pub points: Vec<CalibrationPoint>,
    /// The line through them.
    pub fitted: Fitted,
}

/// What was measured of a channel, before anything is made of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// The jig's number of the channel.
    pub channel: u16,
    /// The points, the zero first.
    pub points: Vec<CalibrationPoint>,
}

/// Who calibrated with what, and when.
#[derive(Clone, Debug, PartialEq)]
pub struct Session {
    /// When, RFC 3339.
    pub date: String,
    /// By whom; may be empty.
    pub operator: String,
    /// What the reference meter is, in the operator's words; may be empty.
    pub reference: String,
    /// How far it may be off.
    pub accuracy: Accuracy,
    /// What the jig said of itself, by channel.
    pub self_tests: Vec<(u16, SelfTested)>,
}

impl Session {
    fn self_test(&self, channel: u16) -> Option<SelfTested> {
        self.self_tests.iter().find(|(of, _)| *of == channel).map(|(_, said)| *said)
    }
}

impl ChannelCalibration {
    /// Makes a calibration of what was measured.
    ///
    /// # Errors
    /// Why the channel is refused.
    pub fn make(
        measured: Measured,
        session: &Session,
        class: &ChannelClass,
    ) -> Result<Self, Refusal> {
        let fitted = assess::fit(&measured.points, &session.accuracy, class.linearity)?;
        assess::against_class(&fitted, class)?;
        Ok(ChannelCalibration {
            channel: measured.channel,
            date: session.date.clone(),
            operator: session.operator.clone(),
            reference: session.reference.clone(),
            accuracy: session.accuracy,
            self_test: session.self_test(measured.channel),
            linearity_a: class.linearity,
            drift: Drift::of_class(class),
            points: measured.points,
            fitted,
        })
    }

    /// How many years lie between the calibration and `now`, whichever is first.
    pub fn years(&self, now: Timestamp) -> f64 {
        let date = self.date.parse::<Timestamp>().unwrap_or(Timestamp::UNIX_EPOCH);
        now.duration_since(date).as_secs_f64().abs() / YEAR_S
    }

    /// What a run at `now` makes of it.
    ///
    /// With a true current of offset + gain · reading, an error of the offset and one of the gain
    /// move a corrected value v by Δoffset − offset/gain · Δgain + v · Δgain/gain.
    pub fn correction(&self, now: Timestamp) -> Correction {
        let f = &self.fitted;
        let (var_offset, var_gain) = (f.u_offset.powi(2), f.u_gain.powi(2));
        let covariance = f.correlation * f.u_offset * f.u_gain;
        let lever = f.offset / f.gain;
        let at_zero =
            (var_offset + lever * lever * var_gain - 2.0 * lever * covariance).max(0.0).sqrt();
        let relative = f.u_gain / f.gain;
        let both = covariance / f.gain - lever * var_gain / f.gain;
        let years = self.years(now);
        Correction {
            channel: self.channel,
            offset: f.offset,
            gain: f.gain,
            left: Corrected {
                offset: at_zero,
                gain: relative,
                correlation: (both / (at_zero * relative)).clamp(-1.0, 1.0),
                dof: f.freedom,
                offset_drift: self.drift.offset_a * years,
                gain_drift: self.drift.gain * years,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::file::tests::example;
    use crate::measure::uncertainty::{Estimate, correlated};

    /// The uncertainty of a corrected value is the same, told by the reading or by the value.
    #[test]
    fn the_parts_of_a_correction_are_those_of_the_line() {
        let channel = example().channels[0].clone();
        let now = channel.date.parse().unwrap();
        let correction = channel.correction(now);
        let f = &channel.fitted;
        let class = ChannelClass { corrected: Some(correction.left), ..ChannelClass::default() };
        for reading in [0.0, 0.1, 1.0, 2.0] {
            let value = correction.correct(reading);
            let r = f.correlation;
            let by_line = correlated(&[f.u_offset, reading * f.u_gain], &[[1.0, r], [r, 1.0]]);
            let by_value = Estimate::new(value, &class.offset_and_gain(value)).standard;
            assert!((by_line / by_value - 1.0).abs() < 1e-9, "{by_line} is not {by_value}");
        }
    }

    #[test]
    fn a_channel_drifts_with_the_years() {
        let channel = example().channels[0].clone();
        let then: Timestamp = channel.date.parse().unwrap();
        let later = then + jiff::SignedDuration::from_hours(24 * 731);
        assert_eq!(channel.correction(then).left.gain_drift, 0.0);
        let drift = channel.correction(later).left.gain_drift;
        assert!((drift / channel.drift.gain - 2.0).abs() < 0.01);
    }
}
