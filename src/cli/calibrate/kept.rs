//! The calibration file while a jig is calibrated.

use crate::calibration::file::Calibration;
use crate::calibration::folder;
use crate::cli::command_result::{CommandError, OrExit, bad_input};
use crate::cli::output;
use crate::link::client::Jig;
use crate::plain::plain;
use crate::record::disk::Disk;
use crate::record::durable;
use crate::report::calibration_text::{self, Outcome};
use std::path::{Path, PathBuf};

/// The jig's calibration while it is made: saved after each channel, so that nothing is lost.
pub(super) struct Kept {
    folder: PathBuf,
    path: PathBuf,
    calibration: Calibration,
    /// What stands in the file, until it is kept aside.
    earlier: Option<Calibration>,
}

impl Kept {
    /// Begins with what is there; a channel that is not calibrated anew stays as it is.
    pub fn open(folder: &Path, jig: &Jig) -> Result<Kept, CommandError> {
        let identity = jig.identity();
        let folder = folder.to_path_buf();
        let path = folder::path_of(&folder, &identity.serial);
        let earlier = folder::find(&folder, &identity.serial).or_bad_input()?;
        if let Some(earlier) = &earlier {
            earlier.check_jig(&identity.serial, identity.simulated).map_err(|why| {
                bad_input(format!(
                    "{} is no calibration of this jig: {why}; move it away",
                    plain(&path.display().to_string())
                ))
            })?;
        }
        durable::make_folder(&Disk::default(), &folder)?;
        let calibration = earlier.clone().unwrap_or_else(|| Calibration {
            serial: identity.serial.clone(),
            simulated: identity.simulated,
            channels: Vec::new(),
        });
        Ok(Kept { folder, path, calibration, earlier })
    }

    /// Takes a channel up and saves. A refused channel loses its earlier calibration.
    pub fn take(&mut self, outcome: &Outcome) -> Result<(), CommandError> {
        match outcome {
            Outcome::Calibrated(channel) => self.calibration.replace((**channel).clone()),
            Outcome::Refused { channel, .. } => self.calibration.remove(*channel),
        }
        if let Some(earlier) = self.earlier.take() {
            let aside = folder::earlier_path(&self.folder, &earlier);
            durable::replace(&Disk::default(), &aside, earlier.to_toml().as_bytes())?;
        }
        durable::replace(&Disk::default(), &self.path, self.calibration.to_toml().as_bytes())?;
        Ok(())
    }

    pub fn tell(&self, json: bool) -> Result<(), CommandError> {
        let Calibration { serial, simulated, .. } = &self.calibration;
        if json {
            return output::data(&calibration_text::saved_json(*simulated, serial, &self.path));
        }
        let warning = if *simulated { "SIMULATED: " } else { "" };
        let path = self.path.display().to_string();
        output::print(&format!("{warning}jig {}: {}\n", plain(serial), plain(&path)))
    }
}
