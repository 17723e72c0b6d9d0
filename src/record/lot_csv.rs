//! `lot.csv`: a row a run. It can always be rebuilt from the reports and their facts files.

use super::aside;
use super::durable;
use super::error::{RecordError, io_error};
use super::facts::Facts;
use super::folder::{LotFolder, report_name};
use super::report;
use super::run_record::{RunEnding, RunSummary};
use super::table::{self, Table};
use crate::judge::reading::{Blame, Verdict};
use crc::{CRC_32_ISO_HDLC, Crc};
use serde::{Deserialize, Serialize};
use std::io;
use std::path::{Path, PathBuf};

const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// How a run came out. The fields are the columns after those of the facts, in their order; new ones
/// go last.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Outcome {
    /// The verdict on the module.
    verdict: Verdict,
    /// Whose fault, when it does not pass.
    blame: Option<Blame>,
    /// How it ended.
    ending: RunEnding,
    /// Why, where it was cut short.
    reason: Option<String>,
    /// How many steps the plan has.
    planned_steps: usize,
    /// How many of them were carried out.
    steps: usize,
    /// How many readings.
    readings: usize,
    /// How many of them fail.
    failed: usize,
    /// How many are indeterminate.
    indeterminate: usize,
    /// What is the matter, in a sentence.
    finding: Option<String>,
    /// The likeliest cause, where somebody has looked into it.
    suspect: Option<String>,
    /// Its probability.
    suspect_probability: Option<f64>,
    /// What tries and decisions amount to for the module. Reserved.
    fate: Option<String>,
    /// The report, from the folder of this file.
    report: String,
    /// The SHA-256 of the report.
    report_sha256: String,
    /// That of its facts file.
    facts_sha256: Option<String>,
    /// The CRC-32 of the row as if this cell were empty, so that one damaged byte is noticed.
    row_crc32: Option<String>,
}

/// One run.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct Row {
    #[serde(flatten)]
    facts: Facts,
    #[serde(flatten)]
    outcome: Outcome,
}

impl Row {
    fn of(run: &RunSummary) -> Self {
        let outcome = Outcome {
            verdict: run.verdict,
            blame: run.blame,
            ending: run.ending,
            reason: run.reason.clone(),
            planned_steps: run.planned.steps,
            steps: run.steps,
            readings: run.readings,
            failed: run.failed,
            indeterminate: run.indeterminate,
            finding: run.finding.clone(),
            suspect: run.suspect.clone(),
            suspect_probability: run.suspect_probability,
            fate: None,
            report: format!("{}/{}", run.facts.module, report_name(run.facts.run)),
            report_sha256: run.report_sha256.clone(),
            facts_sha256: run.facts_sha256.clone(),
            row_crc32: None,
        };
        Row { facts: run.facts.clone(), outcome }
    }

    /// Its line, with the checksum in its last cell.
    fn line(mut self) -> Vec<u8> {
        let crc = CRC.checksum(&table::row_line(&self));
        self.outcome.row_crc32 = Some(format!("crc32:{crc:08x}"));
        table::row_line(&self)
    }

    /// A row of which only the columns matter.
    fn any() -> Self {
        Row::of(&RunSummary {
            facts: Facts::default(),
            planned: Default::default(),
            ending: RunEnding::Complete,
            reason: None,
            steps: 0,
            verdict: Verdict::Pass,
            blame: None,
            readings: 0,
            failed: 0,
            indeterminate: 0,
            accepting_risk: None,
            rejecting_risk: None,
            finding: None,
            suspect: None,
            suspect_probability: None,
            report_sha256: String::new(),
            facts_sha256: None,
        })
    }
}

/// The columns, in order.
pub fn columns() -> Vec<String> {
    table::columns(&Row::any())
}

/// What stands at a place where `lot.csv` should be.
enum Found {
    Nothing,
    /// Ours and whole: module and run of every row.
    Whole(Vec<(String, u32)>),
    /// Ours, but cut off, damaged, or of an older format.
    Damaged,
}

/// So many names of columns must be ours for a header to be ours, however damaged.
const ENOUGH: usize = 8;

fn look(path: &Path) -> Result<Found, RecordError> {
    let bytes = match std::fs::read(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Found::Nothing),
        read => read.map_err(io_error("read", path))?,
    };
    if !bytes.starts_with(&table::header(&Row::any())) {
        let own = columns();
        let first = bytes.split(|b| *b == b'\n').next().unwrap_or_default();
        let known = |name: &&[u8]| own.iter().any(|own| own.as_bytes() == name.trim_ascii());
        let ours = first.split(|b| *b == b',').filter(known).count();
        // Replacing is atomic, so an empty file can be ours.
        if ours >= ENOUGH || bytes.is_empty() {
            return Ok(Found::Damaged);
        }
        let why = "its columns are others".into();
        return Err(RecordError::Foreign { path: path.to_path_buf(), why });
    }
    Ok(rows(&bytes).map_or(Found::Damaged, Found::Whole))
}

/// Module and run of every row; `None` when one is damaged.
pub fn rows(bytes: &[u8]) -> Option<Vec<(String, u32)>> {
    if !bytes.ends_with(b"\r\n") {
        return None;
    }
    let table = Table::read(bytes).ok()?;
    let row = |raw: table::Raw<'_>| {
        let mut row = Row { facts: raw.read().ok()?, outcome: raw.read().ok()? };
        row.outcome.row_crc32 = None;
        Some(row)
    };
    let rows: Vec<Row> = table.rows().map(row).collect::<Option<_>>()?;
    // What was written is what is read: each row makes its own bytes again.
    let mut anew = table::header(&Row::any());
    anew.extend(rows.iter().flat_map(|row| row.clone().line()));
    let key = |row: Row| (row.facts.module, row.facts.run);
    (anew == bytes).then(|| rows.into_iter().map(key).collect())
}

/// Makes sure that a `lot.csv` that is there is ours.
///
/// # Errors
/// [`RecordError::Foreign`] when it is not.
pub fn check(folder: &LotFolder) -> Result<(), RecordError> {
    look(&folder.lot_csv()).map(drop)
}

/// Adds the row of a run whose report is in place, and makes it durable. A missing or damaged file is
/// rebuilt, the damaged one kept aside: where, is given back. A row that is there already is not
/// added again.
///
/// # Errors
/// When the file is not ours or cannot be written; what was in it stays.
pub fn append(folder: &LotFolder, run: &RunSummary) -> Result<Option<PathBuf>, RecordError> {
    let _lock = folder.lock()?;
    let path = folder.lot_csv();
    let Found::Whole(runs) = look(&path)? else {
        return rebuild_locked(folder).map(|rebuilt| rebuilt.aside);
    };
    if runs.iter().any(|(module, number)| (module, *number) == (&run.facts.module, run.facts.run)) {
        return Ok(None);
    }
    let added = (|| {
        let file = folder.disk().open(&path)?;
        let length = file.file().metadata()?.len();
        let written = file.write(&Row::of(run).line(), length).and_then(|()| file.sync());
        if written.is_err() {
            let _ = file.cut(length);
        }
        written
    })();
    added.map_err(io_error("write", &path))?;
    Ok(None)
}

/// What a rebuilt `lot.csv` was made of.
#[derive(Debug, Default)]
pub struct Rebuilt {
    /// How many runs it lists.
    pub runs: usize,
    /// Files that look like reports and are none, with the reason.
    pub skipped: Vec<RecordError>,
    /// Where the one that it replaced was kept, where that said something else.
    pub aside: Option<PathBuf>,
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
    let path = folder.lot_csv();
    let (bytes, mut rebuilt) = anew(folder)?;
    if look(&path).is_ok_and(|found| matches!(found, Found::Damaged)) {
        rebuilt.aside = aside::keep(folder.disk(), &path)?;
    }
    durable::replace(folder.disk(), &path, &bytes)?;
    Ok(rebuilt)
}

/// What `lot.csv` should say.
fn anew(folder: &LotFolder) -> Result<(Vec<u8>, Rebuilt), RecordError> {
    let mut rebuilt = Rebuilt::default();
    let mut runs = Vec::new();
    for module in folder.modules()? {
        for run in module.reports()? {
            match report::summary(&module.report(run)) {
                Ok(run) => runs.push(run),
                Err(error) => rebuilt.skipped.push(error),
            }
        }
    }
    let when = |run: &RunSummary| run.facts.started.parse::<jiff::Timestamp>().ok();
    runs.sort_by_cached_key(|run| (when(run), run.facts.module.clone(), run.facts.run));
    let mut bytes = table::header(&Row::any());
    bytes.extend(runs.iter().flat_map(|run| Row::of(run).line()));
    rebuilt.runs = runs.len();
    Ok((bytes, rebuilt))
}

/// Whether it says of every run what the run's facts file says, whatever the order.
///
/// # Errors
/// When something cannot be read.
pub fn agrees(folder: &LotFolder) -> Result<bool, RecordError> {
    let lines = |bytes: &[u8]| {
        let mut lines: Vec<Vec<u8>> = bytes.split(|b| *b == b'\n').map(<[u8]>::to_vec).collect();
        lines.sort();
        lines
    };
    let path = folder.lot_csv();
    let is = match std::fs::read(&path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Vec::new(),
        read => read.map_err(io_error("read", &path))?,
    };
    let (should_be, rebuilt) = anew(folder)?;
    let nothing_to_list = is.is_empty() && rebuilt.runs == 0;
    Ok(nothing_to_list || lines(&is) == lines(&should_be))
}

#[cfg(test)]
#[path = "lot_csv/tests.rs"]
mod tests;
