//! The records of finished runs, read again.

use super::error::RecordError;
use super::facts::Facts;
use super::folder::facts_beside;
use super::row::{Background, Row};
use super::run_record::{FactsFile, RunEnding, RunSummary, columns, sha256};
use super::table::Table;
use super::{old_format, plain_file};
use crate::judge::reading::{Blame, Verdict};
use crate::judge::summary::Summary as Tally;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::path::Path;

/// Why a report without its facts file is taken for cut off.
const NO_FACTS: &str = "its facts file is missing";

/// A report, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// What is true of the whole run.
    pub facts: Facts,
    /// Whether its facts file is there, and so the proof that it is whole.
    pub is_proven: bool,
    /// Its readings.
    pub readings: Vec<ReportRow>,
}

/// One reading of a report.
#[derive(Clone, Debug, PartialEq)]
pub struct ReportRow {
    /// The row as a spreadsheet counts it: the header is row 1.
    pub number: usize,
    /// What stands there.
    pub row: Row,
    /// What stands behind it.
    pub background: Background,
}

/// Reads a report, with its facts file where that is beside it.
///
/// # Errors
/// When it cannot be read, is no report of ours, is not what its facts file says, or a cell is
/// damaged.
pub fn read(path: &Path) -> Result<Report, RecordError> {
    let file = facts_file(&facts_beside(path))?;
    let mut report = with_summary(path, file.as_ref().map(|file| &file.summary))?;
    for behind in file.into_iter().flat_map(|file| file.background) {
        if let Some(reading) = behind.row.checked_sub(2).and_then(|at| report.readings.get_mut(at))
        {
            reading.background = behind.background;
        }
    }
    Ok(report)
}

/// The same without what stands behind the readings: much quicker.
///
/// # Errors
/// The same.
pub fn read_values(path: &Path) -> Result<Report, RecordError> {
    with_summary(path, summary_of_facts(&facts_beside(path))?.as_ref())
}

fn with_summary(path: &Path, summary: Option<&RunSummary>) -> Result<Report, RecordError> {
    parse(path, &plain_file::read(path)?, summary)
}

/// The report that bytes are, as its facts file has it in short where there is one; `path` says in errors
/// where they are from.
///
/// # Errors
/// When they are no report of ours, not what the facts file says, or a cell is damaged.
pub fn parse(
    path: &Path,
    bytes: &[u8],
    summary: Option<&RunSummary>,
) -> Result<Report, RecordError> {
    let damaged = |why: &str| RecordError::Damaged { path: path.to_path_buf(), why: why.into() };
    if let Some(summary) = summary {
        proven(bytes, summary).map_err(damaged)?;
    }
    let table = table(path, bytes)?;
    let mut readings = Vec::new();
    let mut facts = summary.map(|summary| summary.facts.clone());
    for (number, raw) in (2..).zip(table.rows()) {
        let wrong = |_| damaged(&format!("row {number} is damaged"));
        if facts.is_none() {
            facts = Some(raw.read().map_err(wrong)?);
        }
        let row = raw.read().map_err(wrong)?;
        readings.push(ReportRow { number, row, background: Background::default() });
    }
    let facts = facts.ok_or_else(|| damaged("it has no rows"))?;
    Ok(Report { facts, is_proven: summary.is_some(), readings })
}

/// The table of a report.
fn table(path: &Path, bytes: &[u8]) -> Result<Table, RecordError> {
    let damaged = |why: &str| RecordError::Damaged { path: path.to_path_buf(), why: why.into() };
    if bytes.is_empty() {
        return Err(damaged("it is empty"));
    }
    if old_format::is_report(bytes) {
        return Err(RecordError::Older { path: path.to_path_buf() });
    }
    let table = Table::read(bytes).map_err(|error| {
        damaged(match error.kind() {
            csv::ErrorKind::UnequalLengths { .. } => "a row is damaged",
            _ => "it is no CSV file",
        })
    })?;
    if !columns().iter().zip(table.columns()).all(|(own, column)| own == column)
        || table.columns().count() < columns().len()
    {
        return Err(damaged("its columns are not those of a report"));
    }
    Ok(table)
}

/// Whether a report is what its facts file says.
///
/// # Errors
/// Why it is not.
pub fn proven(report: &[u8], summary: &RunSummary) -> Result<(), &'static str> {
    if sha256(report) == summary.report_sha256 {
        Ok(())
    } else {
        Err("it is not what was written: its SHA-256 is not the one in its facts file")
    }
}

/// Reads a facts file; `None` when there is none.
///
/// # Errors
/// When it cannot be read or is damaged.
pub fn facts_file(path: &Path) -> Result<Option<FactsFile>, RecordError> {
    let Some((mut file, digest)) = json::<FactsFile>(path)? else { return Ok(None) };
    file.summary.facts_sha256 = Some(digest);
    Ok(Some(file))
}

/// Reads of a facts file what says the run in short; `None` when there is none.
///
/// # Errors
/// When it cannot be read or is damaged.
fn summary_of_facts(path: &Path) -> Result<Option<RunSummary>, RecordError> {
    let Some((mut summary, digest)) = json::<RunSummary>(path)? else { return Ok(None) };
    summary.facts_sha256 = Some(digest);
    Ok(Some(summary))
}

/// A file of JSON, and its digest; `None` when there is none.
fn json<T: DeserializeOwned>(path: &Path) -> Result<Option<(T, String)>, RecordError> {
    if !path.exists() {
        return Ok(None);
    }
    let bytes = plain_file::read(path)?;
    let value = serde_json::from_slice(&bytes).map_err(|_| RecordError::Damaged {
        path: path.to_path_buf(),
        why: "it is no facts file that this version knows".into(),
    })?;
    Ok(Some((value, sha256(&bytes))))
}

/// A run in short: as its facts file says, else worked out from the rows of its report, and cut off.
///
/// # Errors
/// When neither can be read.
pub fn summary(path: &Path) -> Result<RunSummary, RecordError> {
    if let Some(summary) = summary_of_facts(&facts_beside(path))? {
        return Ok(summary);
    }
    let bytes = plain_file::read(path)?;
    let damaged = |why: &str| RecordError::Damaged { path: path.to_path_buf(), why: why.into() };
    let table = table(path, &bytes)?;
    let mut facts = None;
    let mut tally = Tally::default();
    for raw in table.rows() {
        let wrong = |_| damaged("a row is damaged");
        if facts.is_none() {
            facts = Some(raw.read().map_err(wrong)?);
        }
        let Judged { verdict, blame } = raw.read().map_err(wrong)?;
        tally.count(verdict, blame);
    }
    Ok(RunSummary {
        facts: facts.ok_or_else(|| damaged("it has no rows"))?,
        planned: Default::default(),
        ending: RunEnding::CutOff,
        reason: Some(NO_FACTS.into()),
        steps: 0,
        verdict: tally.verdict(false),
        blame: tally.blame(),
        readings: tally.readings,
        failed: tally.failed,
        indeterminate: tally.indeterminate,
        accepting_risk: None,
        rejecting_risk: None,
        finding: None,
        suspect: None,
        suspect_probability: None,
        report_sha256: sha256(&bytes),
        facts_sha256: None,
    })
}

/// What of a row counts for its run.
#[derive(Deserialize)]
struct Judged {
    verdict: Verdict,
    blame: Option<Blame>,
}

#[cfg(test)]
#[path = "report/tests.rs"]
mod tests;
