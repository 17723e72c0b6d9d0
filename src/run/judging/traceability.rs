//! Which calibration stands behind a reading.

use crate::calibration::correction::Correction;
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
        let channel = match (quantity.unit(), quantity, clamp) {
            ("A", Quantity::LoadTotal, _) => LOAD_TOTAL,
            (
                "A",
                Quantity::LoadCurrent | Quantity::InrushCurrent | Quantity::OpenCurrent,
                Some(clamp),
            ) => clamp.channel(CLAMP_CURRENT),
            ("A" | "C", ..) => FEED_CURRENT,
            ("V" | "ohm", ..) => return Backing::Uncalibrated,
            _ => return Backing::NotNeeded,
        };
        match (self.corrections, self.correction(channel)) {
            (Some(used), Some(_)) => Backing::Calibration(used.name.clone()),
            _ => Backing::Uncalibrated,
        }
    }
}
