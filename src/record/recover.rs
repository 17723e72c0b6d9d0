//! Finishes the reports of runs that were cut off.

use super::error::{RecordError, io_error};
use super::folder::{LotFolder, ModuleFolder};
use super::lot_csv::{self, Rebuilt};
use super::report_csv::{self, Summary};
use super::{durable, journal};
use std::fs::{self, File, TryLockError};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

/// Why a recovered run was cut short, as far as anyone knows.
pub const WHY: &str = "the program ended before the run did";

/// What became of a journal.
#[derive(Debug)]
pub enum Fate {
    /// Its report is finished now.
    Finished {
        /// The report.
        report: PathBuf,
        /// What it holds.
        run: Box<Summary>,
    },
    /// Its run still goes on; nothing was touched.
    Living(PathBuf),
    /// Nothing was in it yet; removed.
    Empty(PathBuf),
    /// It cannot be recovered; nothing was touched.
    Stuck(RecordError),
}

/// Finishes the reports of all dead runs of a module.
///
/// # Errors
/// When the folder cannot be read or locked.
pub fn module(folder: &ModuleFolder) -> Result<Vec<Fate>, RecordError> {
    let _lock = folder.lock()?;
    let fates = folder
        .journals()?
        .into_iter()
        .map(|run| finish(&folder.journal(run), &folder.report(run)).unwrap_or_else(Fate::Stuck));
    Ok(fates.collect())
}

/// What became of a lot.
#[derive(Debug)]
pub struct RecoveredLot {
    /// Its folder.
    pub folder: LotFolder,
    /// Its journals.
    pub fates: Vec<Fate>,
    /// Its `lot.csv`, or why it could not be rebuilt.
    pub lot_csv: Result<Rebuilt, RecordError>,
}

/// Finishes the reports of all dead runs of a lot and rebuilds its `lot.csv`.
///
/// # Errors
/// When the folder cannot be read or locked.
pub fn lot(folder: LotFolder) -> Result<RecoveredLot, RecordError> {
    let mut fates = Vec::new();
    for one in folder.modules()? {
        fates.extend(module(&one)?);
    }
    let lot_csv = lot_csv::rebuild(&folder);
    Ok(RecoveredLot { folder, fates, lot_csv })
}

fn finish(journal: &Path, report: &Path) -> Result<Fate, RecordError> {
    let file = File::open(journal).map_err(io_error("open", journal))?;
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => return Ok(Fate::Living(journal.to_path_buf())),
        locked => {
            locked.map_err(std::io::Error::from).map_err(io_error("lock", journal))?;
        }
    }
    // Its run may have finished between the opening and the lock.
    if file.metadata().map_err(io_error("read", journal))?.nlink() == 0 {
        return Ok(Fate::Living(journal.to_path_buf()));
    }
    if !report.exists() {
        let Some(bytes) = journal::contents(&file, journal)?.report(WHY) else {
            remove(journal)?;
            return Ok(Fate::Empty(journal.to_path_buf()));
        };
        durable::replace(report, &bytes)?;
    }
    // Only a report that can be read again may take the journal's place.
    let run = Box::new(report_csv::summary(report)?);
    remove(journal)?;
    Ok(Fate::Finished { report: report.to_path_buf(), run })
}

/// Removes a journal that is not needed any more.
///
/// # Errors
/// When the system refuses.
pub fn remove(journal: &Path) -> Result<(), RecordError> {
    fs::remove_file(journal).map_err(io_error("remove", journal))?;
    durable::sync_folder_of(journal)
}
