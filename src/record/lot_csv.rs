//! `lot.csv`: a row a run. It can always be rebuilt from the reports.

use super::cell;
use super::durable;
use super::error::{RecordError, io_error};
use super::folder::{LotFolder, report_name};
use super::report_csv::{self, Summary, line};
use std::fs::OpenOptions;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The columns, in order. They are fixed; new ones go last.
pub const COLUMNS: [&str; 12] = [
    "module",
    "lot",
    "run",
    "started",
    "simulated",
    "script",
    "verdict",
    "blame",
    "readings",
    "failed",
    "indeterminate",
    "report",
];

/// The line of a run.
fn run_line(run: &Summary) -> Vec<u8> {
    let facts = &run.facts;
    line([
        cell::text(&facts.module),
        cell::text(&facts.lot),
        facts.run.to_string(),
        facts.started.clone(),
        cell::yes_no(facts.simulated),
        cell::text(&facts.script),
        run.closing.verdict.to_string(),
        run.closing.blame.map(|b| b.to_string()).unwrap_or_default(),
        run.closing.readings.to_string(),
        run.failed.to_string(),
        run.indeterminate.to_string(),
        cell::text(&format!("{}/{}", facts.module, report_name(facts.run))),
    ])
}

/// What stands at a place where `lot.csv` should be.
enum Found {
    Nothing,
    /// Ours and whole; with module and run of every row.
    Whole(Vec<(String, String)>),
    /// Ours, but its last line was cut off.
    Torn,
}

fn look(path: &Path) -> Result<Found, RecordError> {
    let bytes = match std::fs::read(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Found::Nothing),
        read => read.map_err(io_error("read", path))?,
    };
    let foreign = |why: &str| RecordError::Foreign { path: path.to_path_buf(), why: why.into() };
    let header = line(COLUMNS);
    if !bytes.starts_with(&header) {
        // Cut off within the header; replacing is atomic, so only an empty file can be ours.
        return if bytes.is_empty() {
            Ok(Found::Torn)
        } else {
            Err(foreign("its columns are others"))
        };
    }
    if !bytes.ends_with(b"\r\n") {
        return Ok(Found::Torn);
    }
    let mut runs = Vec::new();
    for row in csv::Reader::from_reader(bytes.as_slice()).records() {
        let row = row.map_err(|_| foreign("a row does not fit its columns"))?;
        runs.push((row[0].to_string(), row[2].to_string()));
    }
    Ok(Found::Whole(runs))
}

/// Makes sure that a `lot.csv` that is there is ours.
///
/// # Errors
/// [`RecordError::Foreign`] when it is not.
pub fn check(folder: &LotFolder) -> Result<(), RecordError> {
    look(&folder.lot_csv()).map(drop)
}

/// Adds the row of a run whose report is in place, and makes it durable. A missing or torn file is
/// rebuilt; a row that is there already is not added again.
///
/// # Errors
/// When the file is not ours or cannot be written; what was in it stays.
pub fn append(folder: &LotFolder, run: &Summary) -> Result<(), RecordError> {
    let _lock = folder.lock()?;
    let path = folder.lot_csv();
    let Found::Whole(runs) = look(&path)? else {
        return rebuild_locked(folder).map(drop);
    };
    let key = (cell::text(&run.facts.module), run.facts.run.to_string());
    if runs.contains(&key) {
        return Ok(());
    }
    let added = (|| {
        let mut file = OpenOptions::new().append(true).open(&path)?;
        let length = file.metadata()?.len();
        let written = file.write_all(&run_line(run)).and_then(|()| file.sync_data());
        if written.is_err() {
            let _ = file.set_len(length);
        }
        written
    })();
    added.map_err(io_error("write", &path))
}

/// What a rebuilt `lot.csv` was made of.
#[derive(Debug, Default)]
pub struct Rebuilt {
    /// How many runs it lists.
    pub runs: usize,
    /// Files that look like reports and are none, with the reason.
    pub skipped: Vec<RecordError>,
}

/// Writes `lot.csv` anew from the reports in the folder, in order of their start.
///
/// # Errors
/// When a file that is there is not ours, or cannot be written.
pub fn rebuild(folder: &LotFolder) -> Result<Rebuilt, RecordError> {
    let _lock = folder.lock()?;
    look(&folder.lot_csv())?;
    rebuild_locked(folder)
}

fn rebuild_locked(folder: &LotFolder) -> Result<Rebuilt, RecordError> {
    let mut rebuilt = Rebuilt::default();
    let mut runs = Vec::new();
    for report in reports(folder)? {
        match report_csv::summary(&report) {
            Ok(run) => runs.push(run),
            Err(error) => rebuilt.skipped.push(error),
        }
    }
    let when = |run: &Summary| run.facts.started.parse::<jiff::Timestamp>().ok();
    runs.sort_by_cached_key(|run| (when(run), run.facts.module.clone(), run.facts.run));
    let mut bytes = line(COLUMNS);
    bytes.extend(runs.iter().flat_map(run_line));
    durable::replace(&folder.lot_csv(), &bytes)?;
    rebuilt.runs = runs.len();
    Ok(rebuilt)
}

fn reports(folder: &LotFolder) -> Result<Vec<PathBuf>, RecordError> {
    let mut reports = Vec::new();
    for module in folder.modules()? {
        reports.extend(module.reports()?.into_iter().map(|run| module.report(run)));
    }
    Ok(reports)
}
