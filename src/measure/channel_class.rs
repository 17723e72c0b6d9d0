//! How well a channel is known.

use super::budget::Budget;
use super::component::Component;
use super::source::Source;
use super::uncertainty::correlated;

/// What limits how well a channel is known before any calibration: half-widths of rectangular
/// distributions (GUM 4.3.7).
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct ChannelClass {
    /// Value of one count.
    pub resolution: f64,
    /// Relative gain error.
    pub gain: f64,
    /// Offset error, in the unit of the channel.
    pub offset: f64,
    /// Non-linearity, in the unit of the channel.
    pub linearity: f64,
    /// How much of the offset comes and goes with the voltage at a shunt: what flows into its amplifier,
    /// and what that makes of the voltage itself. It does not fall out of a difference.
    pub with_voltage: f64,
    /// What a calibration has left of offset and gain, where the values were corrected by one. The
    /// offset and the gain above are then those that the values would have without.
    pub corrected: Option<Corrected>,
}

/// What is left of a channel's offset and gain errors once its values were corrected by a
/// calibration.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Corrected {
    /// Standard uncertainty of a corrected value of zero, in the unit of the channel.
    pub offset: f64,
    /// Standard uncertainty of the gain, relative.
    pub gain: f64,
    /// Correlation coefficient of the two.
    pub correlation: f64,
    /// Degrees of freedom of both.
    pub dof: f64,
    /// By how much the offset may have drifted since: half-width, in the unit of the channel.
    pub offset_drift: f64,
    /// By how much the gain may have drifted since: half-width, relative.
    pub gain_drift: f64,
}

impl ChannelClass {
    /// What offset and gain contribute to a value.
    pub fn offset_and_gain(&self, value: f64) -> [Component; 3] {
        self.offset_and_gain_over(1.0, value)
    }

    /// The same for a value that is the sum of values over a time: a charge, `sum` in ampere
    /// seconds over `time` seconds.
    pub fn offset_and_gain_over(&self, time: f64, sum: f64) -> [Component; 3] {
        match &self.corrected {
            None => [
                Component::standard(0.0),
                Component::rectangular(self.offset * time).from(Source::Offset),
                Component::rectangular(self.gain * sum).from(Source::Gain),
            ],
            Some(left) => {
                let r = left.correlation;
                let both = [left.offset * time, left.gain * sum];
                [
                    Component::type_a(correlated(&both, &[[1.0, r], [r, 1.0]]), left.dof)
                        .from(Source::Calibration),
                    Component::rectangular(left.offset_drift * time).from(Source::Drift),
                    Component::rectangular(left.gain_drift * sum).from(Source::Drift),
                ]
            }
        }
    }

    /// What the gain contributes to the difference of two values of the channel: the offset is the
    /// same in both (GUM F.1.2.3).
    pub fn gain_between(&self, difference: f64) -> [Component; 2] {
        match &self.corrected {
            None => [
                Component::standard(0.0),
                Component::rectangular(self.gain * difference).from(Source::Gain),
            ],
            Some(left) => [
                Component::type_a((left.gain * difference).abs(), left.dof)
                    .from(Source::Calibration),
                Component::rectangular(left.gain_drift * difference).from(Source::Drift),
            ],
        }
    }

    /// What the channel leaves open of the difference of two of its values that lie far apart:
    /// resolution and non-linearity of both, the gain once; and what of the offset comes with the voltage.
    pub fn between(&self, difference: f64) -> Budget {
        let [calibration, gain] = self.gain_between(difference);
        let [resolution, linearity] = self.of_converter();
        let offset = Component::rectangular(self.with_voltage).from(Source::Offset);
        Budget::of(&[resolution, resolution, linearity, linearity, calibration, gain, offset])
    }

    /// What the converter leaves open of one value: resolution and non-linearity.
    pub fn of_converter(&self) -> [Component; 2] {
        [
            Component::rectangular(self.resolution / 2.0).from(Source::Resolution),
            Component::rectangular(self.linearity).from(Source::Linearity),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::uncertainty::Estimate;

    const CORRECTED: Corrected = Corrected {
        offset: 2.9e-3,
        gain: 0.67e-3,
        correlation: -0.930,
        dof: 9.0,
        offset_drift: 0.0,
        gain_drift: 0.0,
    };

    /// JCGM 100:2008, H.3.4: the correction of the thermometer at 30 °C, that is 10 °C from where
    /// its line is stated, has u = 0.0041 °C from s = 0.0029 and 0.00067 with r = −0.930, and 9
    /// degrees of freedom.
    #[test]
    fn offset_and_gain_of_a_calibration_are_correlated() {
        let class = ChannelClass { corrected: Some(CORRECTED), ..ChannelClass::default() };
        let at_30 = Estimate::new(0.0, &class.offset_and_gain(10.0));
        assert!((at_30.standard - 0.0041).abs() < 6e-5, "{}", at_30.standard);
        assert!((at_30.dof - 9.0).abs() < 1e-9);
    }

    #[test]
    fn a_calibration_takes_the_place_of_the_class() {
        let wide = ChannelClass { offset: 1.0, gain: 0.1, ..ChannelClass::default() };
        let corrected = ChannelClass { corrected: Some(CORRECTED), ..wide };
        let u = |class: &ChannelClass| Estimate::new(0.0, &class.offset_and_gain(2.0)).standard;
        assert!((u(&wide) - (1.0f64.powi(2) + 0.2f64.powi(2)).sqrt() / 3f64.sqrt()).abs() < 1e-12);
        assert!(u(&corrected) < 0.01);
        let difference = Estimate::new(0.0, &corrected.gain_between(-2.0));
        assert!((difference.standard - 2.0 * CORRECTED.gain).abs() < 1e-12);
    }
}
