//! Which calibration stands behind a reading.

use crate::calibration::correction::Correction;
use crate::judge::quantity::Channel;
use crate::judge::reading::{Backing, Quantity};
use crate::run::course::Course;
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, LOAD_TOTAL};

impl Course<'_, '_> {
    /// The correction of a channel, where it is calibrated.
    pub fn correction(&self, channel: u16) -> Option<&Correction> {
        self.corrections?.of(channel)
    }

    /// A value that the jig has worked out itself, corrected.
    pub fn corrected(&self, channel: u16, value: f64) -> f64 {
        self.correction(channel).map_or(value, |c| c.correct(value))
    }

    /// Values that the jig has worked out itself, one a channel, corrected.
    pub fn correct_all(&self, channels: &[u16], values: &mut [f64]) {
        for (&channel, value) in channels.iter().zip(values) {
            *value = self.corrected(channel, *value);
        }
    }

    /// What stands behind a reading. Only current channels are calibrated.
    pub fn backing(&self, quantity: Quantity, clamp: Option<Clamp>) -> Backing {
        let channel = match (quantity.channel(), clamp) {
            (Channel::NotNeeded, _) => return Backing::NotNeeded,
            (Channel::NeverCalibrated, _) | (Channel::ClampCurrent, None) => {
                return Backing::Uncalibrated;
            }
            (Channel::FeedCurrent, _) => FEED_CURRENT,
            (Channel::LoadTotal, _) => LOAD_TOTAL,
            (Channel::ClampCurrent, Some(clamp)) => clamp.channel(CLAMP_CURRENT),
        };
        match (self.corrections, self.correction(channel)) {
            (Some(used), Some(_)) => Backing::Calibration(used.name.clone()),
            _ => Backing::Uncalibrated,
        }
    }
}
