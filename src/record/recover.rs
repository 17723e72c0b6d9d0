//! Finishes the reports of runs that were cut off, and brings older records into the present format.

use super::disk::Disk;
use super::error::{RecordError, io_error};
use super::folder::{LotFolder, ModuleFolder};
use super::lot_csv::{self, Rebuilt};
use super::run_record::{RunRecord, RunSummary};
use super::{aside, check, durable, journal, old_format, report, run_files};
use crate::system::files;
use std::fs::{self, File, TryLockError};
use std::path::{Path, PathBuf};

/// Why a recovered run was cut short, as far as anyone knows.
pub const WHY: &str = "the program ended before the run did";

/// What became of a journal, or of a report of an older format.
#[derive(Debug)]
pub enum Fate {
    /// Its report is finished now.
    Finished {
        /// The report.
        report: PathBuf,
        /// What it holds.
        run: Box<RunSummary>,
        /// Where the journal was kept, where it was damaged.
        aside: Option<PathBuf>,
    },
    /// A report was brought into the present format.
    Converted {
        /// The report.
        report: PathBuf,
        /// Where the older one was kept.
        aside: PathBuf,
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
    for path in folder.hardly_begun()? {
        remove(folder.disk(), &path)?;
    }
    let fates =
        folder.journals()?.into_iter().map(|run| finish(folder, run).unwrap_or_else(Fate::Stuck));
    Ok(fates.collect())
}

/// What became of a lot.
#[derive(Debug)]
pub struct RecoveredLot {
    /// Its folder.
    pub folder: LotFolder,
    /// Its journals and older reports.
    pub fates: Vec<Fate>,
    /// Its `lot.csv`, or why it could not be rebuilt.
    pub lot_csv: Result<Rebuilt, RecordError>,
    /// Reports that are not what was written, a sentence each: nothing can mend them.
    pub wrong: Vec<String>,
}

/// Finishes the reports of all dead runs of a lot, converts older ones, and rebuilds its `lot.csv`.
///
/// # Errors
/// When the folder cannot be read or locked.
pub fn lot(folder: LotFolder) -> Result<RecoveredLot, RecordError> {
    let mut fates = Vec::new();
    for one in folder.modules()? {
        fates.extend(module(&one)?);
        fates.extend(convert(&one)?);
    }
    let lot_csv = lot_csv::rebuild(&folder);
    let mut wrong = check::reports(&folder)?.wrong;
    // What could not be brought into the present format, or is no report at all, is told already.
    let told = fates.iter().filter_map(|fate| match fate {
        Fate::Stuck(why) => Some(why.to_string()),
        _ => None,
    });
    let skipped =
        lot_csv.iter().flat_map(|rebuilt| rebuilt.skipped.iter().map(ToString::to_string));
    let told: Vec<String> = told.chain(skipped).collect();
    wrong.retain(|why| !told.contains(why));
    Ok(RecoveredLot { folder, fates, lot_csv, wrong })
}

fn finish(folder: &ModuleFolder, run: u32) -> Result<Fate, RecordError> {
    let path = &folder.journal(run);
    let file = File::open(path).map_err(io_error("open", path))?;
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => return Ok(Fate::Living(path.to_path_buf())),
        locked => {
            locked.map_err(std::io::Error::from).map_err(io_error("lock", path))?;
        }
    }
    // Its run may have finished between the opening and the lock.
    if !files::is_there(&file, path) {
        return Ok(Fate::Living(path.to_path_buf()));
    }
    let Some((record, damaged)) = record(&file, path)? else {
        remove(folder.disk(), path)?;
        return Ok(Fate::Empty(path.to_path_buf()));
    };
    let run_summary = run_files::write(folder, &record)?;
    // Only records that can be read again may take the journal's place.
    report::read(&folder.report(run)).map(drop).or_else(|error| match record.readings.len() {
        0 => Ok(()),
        _ => Err(error),
    })?;
    let aside = if damaged {
        aside::keep(folder.disk(), path)?
    } else {
        remove(folder.disk(), path).map(|()| None)?
    };
    Ok(Fate::Finished { report: folder.report(run), run: Box::new(run_summary), aside })
}

/// What a journal holds, and whether it is damaged.
fn record(file: &File, path: &Path) -> Result<Option<(RunRecord, bool)>, RecordError> {
    let bytes = journal::bytes(file, path)?;
    if old_format::is_journal(&bytes) {
        let Some(report) = old_format::report_of_journal(&bytes) else { return Ok(None) };
        let damaged = |why: &str| RecordError::Damaged { path: path.into(), why: why.into() };
        return Ok(Some((old_format::report(&report).map_err(damaged)?, false)));
    }
    let contents = journal::contents_of(&bytes, path)?;
    let damaged = contents.damaged;
    if damaged && contents.head.is_none() {
        let why = "what the run is of stands in it nowhere any more".into();
        return Err(RecordError::Damaged { path: path.into(), why });
    }
    Ok(contents.record(WHY).map(|record| (record, damaged)))
}

/// Brings the reports of a module that are of an older format into the present one.
fn convert(folder: &ModuleFolder) -> Result<Vec<Fate>, RecordError> {
    let _lock = folder.lock()?;
    let mut fates = Vec::new();
    for run in folder.older_reports()? {
        fates.push(convert_one(folder, run).unwrap_or_else(Fate::Stuck));
    }
    Ok(fates)
}

fn convert_one(folder: &ModuleFolder, run: u32) -> Result<Fate, RecordError> {
    let (report, older) = (folder.report(run), folder.older_report(run));
    let source = if older.exists() { &older } else { &report };
    let bytes = fs::read(source).map_err(io_error("read", source))?;
    let damaged = |why: &str| RecordError::Damaged { path: source.clone(), why: why.into() };
    let record = old_format::report(&bytes).map_err(damaged)?;
    if source == &report {
        let moved = folder.disk().system().rename(&report, &older);
        moved.map_err(io_error("move aside", &report))?;
        durable::sync_folder_of(folder.disk(), &report)?;
    }
    run_files::write(folder, &record)?;
    Ok(Fate::Converted { report, aside: older })
}

/// Removes a journal that is not needed any more.
///
/// # Errors
/// When the system refuses.
pub fn remove(disk: &Disk, journal: &Path) -> Result<(), RecordError> {
    disk.system().remove(journal).map_err(io_error("remove", journal))?;
    durable::sync_folder_of(disk, journal)
}
