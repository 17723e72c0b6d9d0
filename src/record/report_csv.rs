//! The report of one run: RFC 4180 CSV, one row a reading, and a last row that closes it.

pub use super::facts::Facts;

use super::error::{RecordError, io_error};
use super::row::{Row, scientific};
use super::table::{self, Raw, Table};
use crate::judge::quantity::Quantity;
use crate::judge::reading::{Blame, Reading, Verdict};
use crate::judge::summary::Summary as Tally;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// The columns that the oldest reports lack.
const OLDEST: usize = 21;

/// What the closing row has in its `quantity` column; its value is how many readings the report
/// holds, so that a report that lost rows is noticed.
pub const CLOSING: &str = "readings";

/// The note of a closing row when every step was carried out.
pub const COMPLETE: &str = "complete";

/// How the note of a closing row begins when the run was cut short.
pub const CUT_SHORT: &str = "cut short: ";

/// A line of the report.
#[derive(Serialize)]
struct Line<'a> {
    #[serde(flatten)]
    facts: &'a Facts,
    #[serde(flatten)]
    row: &'a Row,
}

/// How a run came out, as its closing row tells it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Closing {
    /// The verdict on the module.
    pub verdict: Verdict,
    /// Whose fault, when it does not pass.
    pub blame: Option<Blame>,
    /// How many readings the run took.
    pub readings: usize,
    /// [`COMPLETE`], or [`CUT_SHORT`] and why.
    pub note: String,
}

/// The header line.
pub fn header() -> Vec<u8> {
    table::header(&Line { facts: &Facts::default(), row: &bare_row(Verdict::Pass) })
}

/// The line of a reading.
pub fn reading_line(facts: &Facts, reading: &Reading) -> Vec<u8> {
    table::row_line(&Line { facts, row: &Row::of(reading, scientific) })
}

/// The line that closes a report.
pub fn closing_line(facts: &Facts, closing: &Closing) -> Vec<u8> {
    let row = Row {
        quantity: CLOSING.into(),
        value: Some(closing.readings as f64),
        blame: closing.blame,
        note: closing.note.clone(),
        ..bare_row(closing.verdict)
    };
    table::row_line(&Line { facts, row: &row })
}

/// A row that says nothing but a verdict; its unit is that of counts.
fn bare_row(verdict: Verdict) -> Row {
    Row::of(&Reading::bare("", Quantity::UnwantedMoves, verdict), scientific)
}

/// What a report holds, in short.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Summary {
    /// The facts of its run.
    pub facts: Facts,
    /// How it came out. Of a report without its closing row: worked out from the rows that are
    /// there, and cut short.
    pub closing: Closing,
    /// How many readings fail.
    pub failed: usize,
    /// How many are indeterminate.
    pub indeterminate: usize,
}

/// Reads a report in short.
///
/// # Errors
/// When it cannot be read, or is no report of ours.
pub fn summary(path: &Path) -> Result<Summary, RecordError> {
    let bytes = std::fs::read(path).map_err(io_error("read", path))?;
    summarise(&bytes)
        .map_err(|why| RecordError::Damaged { path: path.to_path_buf(), why: why.into() })
}

/// Reads the bytes of a report in short.
///
/// # Errors
/// Why it is no report of ours.
pub fn summarise(bytes: &[u8]) -> Result<Summary, &'static str> {
    let table = readable(bytes)?;
    let mut tally = Tally::default();
    let mut facts = None;
    let mut closing = None;
    for row in table.rows() {
        if closing.is_some() {
            return Err(DAMAGED);
        }
        if facts.is_none() {
            facts = Some(row.read::<Facts>().map_err(|_| DAMAGED)?);
        }
        let judged: Judged = row.read().map_err(|_| DAMAGED)?;
        if judged.quantity == CLOSING {
            closing = Some(judged.closing().ok_or(DAMAGED)?);
        } else {
            tally.count(judged.verdict, judged.blame);
        }
    }
    let facts = facts.ok_or("it has no rows")?;
    let closing = closing.unwrap_or_else(|| cut_short(&tally, "the closing row is missing"));
    if closing.readings != tally.readings {
        return Err("rows are missing");
    }
    Ok(Summary { facts, closing, failed: tally.failed, indeterminate: tally.indeterminate })
}

const DAMAGED: &str = "a row is damaged";

/// The table of a report. Columns that a later version added do no harm.
fn readable(bytes: &[u8]) -> Result<Table, &'static str> {
    if bytes.is_empty() {
        return Err("it is empty");
    }
    let own = header();
    let own = Table::read(&own).map_err(|_| DAMAGED)?;
    let table = Table::read(bytes).map_err(|error| match error.kind() {
        csv::ErrorKind::UnequalLengths { .. } => DAMAGED,
        _ => "it is no CSV file",
    })?;
    let both = || own.columns().zip(table.columns());
    if both().count() < OLDEST || both().any(|(own, column)| own != column) {
        return Err("its columns are not those of a report");
    }
    Ok(table)
}

/// What of a row counts for its run.
#[derive(Deserialize)]
struct Judged {
    quantity: String,
    value: Option<f64>,
    verdict: Verdict,
    blame: Option<Blame>,
    note: String,
}

impl Judged {
    /// The closing that it tells; `None` when its count is none.
    fn closing(self) -> Option<Closing> {
        let readings = self.value.filter(|v| *v >= 0.0 && v.fract() == 0.0)? as usize;
        Some(Closing { verdict: self.verdict, blame: self.blame, readings, note: self.note })
    }
}

/// Counts the lines of readings; `None` when one is damaged.
pub fn tally(lines: &[u8]) -> Option<Tally> {
    let table = Table::read(&[&header(), lines].concat()).ok()?;
    let mut tally = Tally::default();
    for row in table.rows() {
        let judged: Judged = row.read().ok()?;
        tally.count(judged.verdict, judged.blame);
    }
    Some(tally)
}

/// The facts of a report and its readings, with the row in which each stands: the header is row 1.
///
/// # Errors
/// When it cannot be read, is no report of ours, or a cell is damaged.
pub fn rows(path: &Path) -> Result<(Facts, Vec<(usize, Row)>), RecordError> {
    let bytes = std::fs::read(path).map_err(io_error("read", path))?;
    let damaged = |why: &str| RecordError::Damaged { path: path.to_path_buf(), why: why.into() };
    let facts = summarise(&bytes).map_err(damaged)?.facts;
    let table = readable(&bytes).map_err(damaged)?;
    let row = |(number, raw): (usize, Raw<'_>)| {
        let row = raw.read::<Row>().map_err(|_| damaged(&format!("row {number} is damaged")));
        row.map(|row| (number, row))
    };
    let rows = (2..).zip(table.rows()).map(row).collect::<Result<Vec<_>, _>>()?;
    Ok((facts, rows.into_iter().filter(|(_, row)| row.quantity != CLOSING).collect()))
}

/// The closing of a run that did not come to its end; it never passes.
pub fn cut_short(tally: &Tally, why: &str) -> Closing {
    Closing {
        verdict: tally.verdict(false),
        blame: tally.blame(),
        readings: tally.readings,
        note: format!("{CUT_SHORT}{why}"),
    }
}

#[cfg(test)]
#[path = "report_csv/tests.rs"]
mod tests;
