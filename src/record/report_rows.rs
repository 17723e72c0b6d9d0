//! The readings of a report, row by row, for whoever wants to look at one.

use super::cell;
use super::error::{RecordError, io_error};
use super::report_csv::{CLOSING, COLUMNS, Facts, summarise};
use crate::measure::budget::Budget;
use std::path::Path;

/// One reading of a report. Text is as it was before it was made safe for spreadsheets.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The row as a spreadsheet counts it: the header is row 1.
    pub number: usize,
    /// Name of the step.
    pub step: String,
    /// Output and position, as far as it has them: `2b`, `2`, or nothing.
    pub place: String,
    /// Name of the quantity.
    pub quantity: String,
    /// The value.
    pub value: Option<f64>,
    /// Its unit.
    pub unit: String,
    /// Expanded uncertainty, 95 %.
    pub uncertainty: Option<f64>,
    /// Lower limit.
    pub lower_limit: Option<f64>,
    /// Upper limit.
    pub upper_limit: Option<f64>,
    /// The verdict.
    pub verdict: String,
    /// The note.
    pub note: String,
    /// The calibration behind it.
    pub calibration: String,
    /// What the uncertainty is made of; `None` in reports of before there were budgets, and where
    /// there is no value.
    pub budget: Option<Budget>,
    /// Where the limits come from.
    pub limits_from: String,
    /// The chance that the verdict is wrong.
    pub risk: Option<f64>,
    /// How far inside its limits the value has to lie to pass.
    pub guard_band: Option<f64>,
    /// The chance that the true value lies outside the limits.
    pub outside: Option<f64>,
    /// What would settle it.
    pub settled_by: String,
}

/// The facts of a report and its readings.
///
/// # Errors
/// When it cannot be read, is no report of ours, or a cell is damaged.
pub fn rows(path: &Path) -> Result<(Facts, Vec<Row>), RecordError> {
    let bytes = std::fs::read(path).map_err(io_error("read", path))?;
    let damaged = |why: &str| RecordError::Damaged { path: path.to_path_buf(), why: why.into() };
    let facts = summarise(&bytes).map_err(damaged)?.facts;
    let mut reader =
        csv::ReaderBuilder::new().has_headers(true).flexible(true).from_reader(&bytes[..]);
    let mut rows = Vec::new();
    for (at, record) in reader.records().enumerate() {
        let number = at + 2;
        let wrong = || damaged(&format!("row {number} is damaged"));
        let record = record.map_err(|_| wrong())?;
        if record.get(column("quantity")) == Some(CLOSING) {
            break;
        }
        rows.push(row(number, &record).ok_or_else(wrong)?);
    }
    Ok((facts, rows))
}

fn column(name: &str) -> usize {
    COLUMNS.iter().position(|column| *column == name).unwrap_or(usize::MAX)
}

/// `None` when a cell is damaged. Columns that an older report lacks are empty.
fn row(number: usize, record: &csv::StringRecord) -> Option<Row> {
    let raw = |name: &str| record.get(column(name)).unwrap_or_default();
    let text = |name: &str| cell::bare(raw(name)).into_owned();
    let figure = |name: &str| match raw(name) {
        "" => Some(None),
        digits => digits.parse().ok().filter(|v: &f64| v.is_finite()).map(Some),
    };
    Some(Row {
        number,
        step: text("step"),
        place: text("output") + &text("position"),
        quantity: text("quantity"),
        value: figure("value")?,
        unit: text("unit"),
        uncertainty: figure("uncertainty")?,
        lower_limit: figure("lower_limit")?,
        upper_limit: figure("upper_limit")?,
        verdict: text("verdict"),
        note: text("note"),
        calibration: text("calibration"),
        budget: match raw("budget") {
            "" => None,
            budget => Some(Budget::parse(budget)?),
        },
        limits_from: text("limits_from"),
        risk: figure("risk")?,
        guard_band: figure("guard_band")?,
        outside: figure("outside")?,
        settled_by: text("settled_by"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::reading::Verdict;
    use crate::record::example;
    use crate::record::report_csv::{Closing, closing_line, header, reading_line};

    fn report(rows: usize) -> Vec<u8> {
        let mut bytes = header();
        for _ in 0..rows {
            bytes.extend(reading_line(&example::facts(), &example::reading(Verdict::Pass, None)));
        }
        let closing = Closing {
            verdict: Verdict::Pass,
            blame: None,
            readings: rows,
            note: "complete".into(),
        };
        bytes.extend(closing_line(&example::facts(), &closing));
        bytes
    }

    fn read(bytes: &[u8]) -> Result<Vec<Row>, String> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("run-001.csv");
        std::fs::write(&path, bytes).unwrap();
        rows(&path).map(|(_, rows)| rows).map_err(|e| e.to_string())
    }

    #[test]
    fn rows_hold_what_was_written() {
        let rows = read(&report(2)).unwrap();
        assert_eq!(rows.iter().map(|r| r.number).collect::<Vec<_>>(), [2, 3]);
        let (row, reading) = (&rows[1], example::reading(Verdict::Pass, None));
        assert_eq!((row.value, row.uncertainty), (reading.value, reading.uncertainty));
        assert_eq!((row.lower_limit, row.upper_limit), (reading.lower_limit, reading.upper_limit));
        assert_eq!((row.step.as_str(), row.place.as_str()), (reading.step.as_str(), "2b"));
        assert_eq!(row.note, "@seen again");
        assert_eq!(row.budget.unwrap().to_string(), reading.budget.unwrap().to_string());
    }

    #[test]
    fn a_report_without_budgets_is_read_too() {
        let text = String::from_utf8(report(1)).unwrap();
        let older: String =
            text.lines().map(|l| l.rsplitn(7, ',').last().unwrap().to_owned() + "\r\n").collect();
        let rows = read(older.as_bytes()).unwrap();
        assert_eq!((rows[0].budget, rows[0].limits_from.as_str()), (None, ""));
        assert_eq!((rows[0].risk, rows[0].guard_band, rows[0].outside), (None, None, None));
    }

    #[test]
    fn a_damaged_cell_is_told_with_its_row() {
        let text = String::from_utf8(report(3)).unwrap();
        let bad = text.replacen("noise ", "hum ", 1);
        let why = read(bad.as_bytes()).unwrap_err();
        assert!(why.contains("row 2 is damaged"), "{why}");
    }
}
