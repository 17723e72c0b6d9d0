//! `lot.csv`: a row a run. It can always be rebuilt from the reports.

use super::durable;
use super::error::{RecordError, io_error};
use super::folder::{LotFolder, report_name};
use super::report_csv::{self, Closing, Facts, Summary};
use super::table::{self, Table, yes_or_no};
use crate::judge::reading::{Blame, Verdict};
use serde::{Deserialize, Serialize};
use std::fs::OpenOptions;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// One run. The fields are the columns, in their order; new ones go last.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Row {
    /// Its module.
    pub module: String,
    /// Its lot.
    pub lot: String,
    /// Its number.
    pub run: u32,
    /// When it began, RFC 3339.
    pub started: String,
    /// Whether it was on a simulated bench.
    #[serde(deserialize_with = "yes_or_no")]
    pub simulated: bool,
    /// Name of the script.
    pub script: String,
    /// The verdict on the module.
    pub verdict: Verdict,
    /// Whose fault, when it does not pass.
    pub blame: Option<Blame>,
    /// How many readings.
    pub readings: usize,
    /// How many of them fail.
    pub failed: usize,
    /// How many are indeterminate.
    pub indeterminate: usize,
    /// The report, from the folder of this file.
    pub report: String,
}

impl Row {
    /// The row of a run.
    pub fn of(run: &Summary) -> Self {
        let Summary { facts, closing, failed, indeterminate } = run;
        Row {
            module: facts.module.clone(),
            lot: facts.lot.clone(),
            run: facts.run,
            started: facts.started.clone(),
            simulated: facts.simulated,
            script: facts.script.clone(),
            verdict: closing.verdict,
            blame: closing.blame,
            readings: closing.readings,
            failed: *failed,
            indeterminate: *indeterminate,
            report: format!("{}/{}", facts.module, report_name(facts.run)),
        }
    }

    /// A row of which only the columns matter.
    fn any() -> Self {
        let closing =
            Closing { verdict: Verdict::Pass, blame: None, readings: 0, note: String::new() };
        Row::of(&Summary { facts: Facts::default(), closing, failed: 0, indeterminate: 0 })
    }
}

/// What stands at a place where `lot.csv` should be.
enum Found {
    Nothing,
    /// Ours and whole.
    Whole(Vec<Row>),
    /// Ours, but its last line was cut off.
    Torn,
}

fn look(path: &Path) -> Result<Found, RecordError> {
    let bytes = match std::fs::read(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Found::Nothing),
        read => read.map_err(io_error("read", path))?,
    };
    let foreign = |why: &str| RecordError::Foreign { path: path.to_path_buf(), why: why.into() };
    let header = table::header(&Row::any());
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
    let strange = |_: csv::Error| foreign("a row does not fit its columns");
    let table = Table::read(&bytes).map_err(strange)?;
    let runs = table.rows().map(|row| row.read()).collect::<Result<_, _>>().map_err(strange)?;
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
    let row = Row::of(run);
    if runs.iter().any(|known| (&known.module, known.run) == (&row.module, row.run)) {
        return Ok(());
    }
    let added = (|| {
        let mut file = OpenOptions::new().append(true).open(&path)?;
        let length = file.metadata()?.len();
        let written = file.write_all(&table::row_line(&row)).and_then(|()| file.sync_data());
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
    let mut bytes = table::header(&Row::any());
    bytes.extend(runs.iter().flat_map(|run| table::row_line(&Row::of(run))));
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
