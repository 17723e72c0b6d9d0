//! Which calibration of the jig is used.

use super::command_result::{CommandError, OrExit, bad_input};
use super::output;
use crate::calibration::correction::Corrections;
use crate::calibration::file::Calibration;
use crate::calibration::folder;
use crate::link::client::Jig;
use crate::plain::plain;
use std::path::{Path, PathBuf};

/// What is said of a jig without a serial number.
pub const NO_SERIAL: &str = "This jig has no serial number, so that its calibration could be another \
    jig's: build its firmware again with JIG_SERIAL set, as docs/jig.md says";

/// The argument.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct CalibrationChoice {
    /// Calibration of the jig: its file, or the folder that it lies in by the jig's serial number
    /// [default: the folder `calibration`, where it has one of this jig]
    #[arg(long, value_name = "DIR|FILE")]
    calibration: Option<PathBuf>,
}

impl CalibrationChoice {
    /// The calibration of the jig at hand. Without the argument there may be none.
    ///
    /// # Errors
    /// When a file is damaged or of another jig, and when one that was asked for is not there, or the jig
    /// has no serial number to find it by.
    pub fn of(&self, jig: &Jig) -> Result<Option<Calibration>, CommandError> {
        if !jig.identity().has_serial() {
            if self.calibration.is_some() {
                return Err(bad_input(format!("{NO_SERIAL}, or leave --calibration out")));
            }
            output::tell(&format!("{NO_SERIAL}. Until then it counts as uncalibrated."));
            return Ok(None);
        }
        let serial = &jig.identity().serial;
        let (path, asked_for) = match &self.calibration {
            Some(path) => (path.as_path(), true),
            None => (Path::new(folder::DEFAULT), false),
        };
        let found = if path.is_dir() || !asked_for {
            folder::find(path, serial).or_bad_input()?
        } else {
            Some(Calibration::read(path).or_bad_input()?)
        };
        let file = if path.is_dir() { folder::path_of(path, serial) } else { path.to_owned() };
        let file = plain(&file.display().to_string());
        match found {
            None if asked_for => Err(bad_input(format!(
                "there is no {file}: calibrate this jig with `musterbench calibrate`, or leave \
                 --calibration out"
            ))),
            None => Ok(None),
            Some(calibration) => calibration
                .check_jig(serial, jig.identity().simulated)
                .map(|()| Some(calibration))
                .map_err(|why| {
                    bad_input(format!("{file} is no calibration of the jig {serial}: {why}"))
                }),
        }
    }

    /// What corrects the readings of the jig now, where it is calibrated. Warns of a calibration that
    /// is older than `max_days`, or was made in the future.
    ///
    /// # Errors
    /// See [`CalibrationChoice::of`].
    pub fn corrections(
        &self,
        jig: &Jig,
        max_days: u32,
    ) -> Result<Option<Corrections>, CommandError> {
        let Some(calibration) = self.of(jig)? else { return Ok(None) };
        let now = jig.time_of_day().timestamp();
        let corrections = calibration.corrections(now);
        let in_future = |date: &str| date.parse::<jiff::Timestamp>().is_ok_and(|d| d > now);
        if corrections.days > max_days {
            output::tell(&format!(
                "The jig's calibration is {} days old, and {max_days} days is the most that is \
                 allowed: calibrate it again.",
                corrections.days
            ));
        } else if in_future(calibration.last_date()) {
            output::tell(
                "The jig's calibration was made later than now: set the computer's clock.",
            );
        }
        Ok(Some(corrections))
    }
}
