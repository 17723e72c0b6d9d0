//! The calibrations of one jig.

use crate::calibration::channel::ChannelCalibration;
use crate::calibration::correction::Corrections;
use jiff::Timestamp;

/// The version of the file's format.
pub const FORMAT: i64 = 1;

/// The calibrations of one jig.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// Serial number of the jig.
    pub serial: String,
    /// Whether the jig is a simulated bench: then nothing of it holds for a real one.
    pub simulated: bool,
    /// The channels, in rising order.
    pub channels: Vec<ChannelCalibration>,
}

/// Why a calibration is not that of the jig at hand.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Stranger {
    /// Another jig's.
    #[error("it is of the jig {0}, not of this one")]
    Serial(String),
    /// Simulated, and the jig is real.
    #[error("it is SIMULATED, so it says nothing of a real jig")]
    Simulated,
    /// Of a real jig, and this one is simulated.
    #[error("it is of a real jig, so it says nothing of a simulated bench")]
    Real,
}

impl Calibration {
    /// Whether it is that of a jig.
    ///
    /// # Errors
    /// Why it is not.
    pub fn check_jig(&self, serial: &str, simulated: bool) -> Result<(), Stranger> {
        match (self.simulated, simulated) {
            (true, false) => Err(Stranger::Simulated),
            (false, true) => Err(Stranger::Real),
            _ if self.serial != serial => Err(Stranger::Serial(self.serial.clone())),
            _ => Ok(()),
        }
    }

    /// The date of the channel that was calibrated last, RFC 3339.
    pub fn last_date(&self) -> &str {
        let when = |c: &&ChannelCalibration| c.date.parse::<Timestamp>().ok();
        self.channels.iter().max_by_key(when).map_or("", |c| &c.date)
    }

    /// What it is called in records: the jig, and the date of the last change.
    pub fn name(&self) -> String {
        format!("{} {}", self.serial, self.last_date())
    }

    /// The corrections of a run at `now`.
    pub fn corrections(&self, now: Timestamp) -> Corrections {
        let years = self.channels.iter().map(|c| c.years(now)).fold(0.0, f64::max);
        Corrections {
            name: self.name(),
            days: (years * 365.25) as u32,
            channels: self.channels.iter().map(|c| c.correction(now)).collect(),
        }
    }

    /// Puts the calibration of a channel in the place of an earlier one.
    pub fn replace(&mut self, channel: ChannelCalibration) {
        self.remove(channel.channel);
        self.channels.push(channel);
        self.channels.sort_by_key(|c| c.channel);
    }

    /// Takes the calibration of a channel out.
    pub fn remove(&mut self, channel: u16) {
        self.channels.retain(|c| c.channel != channel);
    }
}
