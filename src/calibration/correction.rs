//! What a run makes of a calibration: corrected values, and what is left uncertain about them.

use crate::measure::channel_class::Corrected;
use crate::measure::scale::Scale;

/// The correction of one channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correction {
    /// The jig's number of the channel.
    pub channel: u16,
    /// True value where the jig reads zero.
    pub offset: f64,
    /// True value over the jig's reading.
    pub gain: f64,
    /// What is left uncertain.
    pub left: Corrected,
}

impl Correction {
    /// The value that a reading stands for.
    pub fn correct(&self, reading: f64) -> f64 {
        self.offset + self.gain * reading
    }

    /// The line from counts to the values that readings stand for.
    pub fn of_scale(&self, stated: &Scale) -> Scale {
        stated.corrected(self.offset, self.gain)
    }

    /// The sum of values over a time that a sum of readings stands for: a charge.
    pub fn correct_sum(&self, time: f64, sum: f64) -> f64 {
        self.offset * time + self.gain * sum
    }
}

/// The corrections of a jig at the time of a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Corrections {
    /// What the calibration is called in records.
    pub name: String,
    /// How many days have passed since the oldest of its channels was calibrated.
    pub days: u32,
    /// The channels.
    pub channels: Vec<Correction>,
}

impl Corrections {
    /// That of a channel.
    pub fn of(&self, channel: u16) -> Option<&Correction> {
        self.channels.iter().find(|c| c.channel == channel)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_and_its_counts_are_corrected_alike() {
        let left = Corrected {
            offset: 0.0,
            gain: 0.0,
            correlation: 0.0,
            dof: f64::INFINITY,
            offset_drift: 0.0,
            gain_drift: 0.0,
        };
        let c = Correction { channel: 2, offset: 3e-4, gain: 0.996, left };
        let stated = Scale { zero: -0.1, per_count: 1e-4 };
        let off = c.of_scale(&stated).value(2_500.0) - c.correct(stated.value(2_500.0));
        assert!(off.abs() < 1e-15);
        assert!((c.correct_sum(2.0, 0.5) - (6e-4 + 0.498)).abs() < 1e-15);
    }
}
