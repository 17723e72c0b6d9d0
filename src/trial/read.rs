//! Readings out of reports, as far as a trial needs them.

use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::record::RecordError;
use crate::record::facts::Facts;
use crate::record::report;
use crate::record::row;
use std::path::Path;

/// A report has expanded uncertainties, at 95 % as far as a normal distribution goes.
const COVERAGE: f64 = 1.96;

/// What was measured, and where: readings with the same key can be compared.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key {
    /// The quantity's name.
    pub quantity: String,
    /// The step's name.
    pub step: String,
    /// Output and position, as far as it has them.
    pub place: String,
    /// The unit.
    pub unit: String,
}

/// One reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What and where.
    pub key: Key,
    /// The value; `None` where nothing could be measured.
    pub value: Option<f64>,
    /// The standard uncertainty that it states; `None` where it states none.
    pub uncertainty: Option<f64>,
    /// Its limits.
    pub limits: Window,
}

/// One report.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// What is true of the whole run.
    pub facts: Facts,
    /// Its readings, without counts and what nobody measured.
    pub rows: Vec<Row>,
}

/// Reads a report.
///
/// # Errors
/// When it cannot be read, or is no whole report.
pub fn report(path: &Path) -> Result<Report, RecordError> {
    let report::Report { facts, readings, .. } = report::read_values(path)?;
    // What a later version measures is unknown here, but is no count where it has a unit.
    let is_measured = |row: &row::Row| {
        Quantity::named(&row.quantity).map_or(row.unit != "1", |quantity| !quantity.is_counted())
    };
    let rows = readings.into_iter().map(|reading| reading.row);
    // Beyond what the jig can tell there is nothing to compare.
    let rows = rows.filter(|row| is_measured(row) && row.bound.is_none()).map(row).collect();
    Ok(Report { facts, rows })
}

fn row(row: row::Row) -> Row {
    Row {
        key: Key { place: row.place(), quantity: row.quantity, step: row.step, unit: row.unit },
        value: row.value,
        uncertainty: row.uncertainty.map(|expanded| expanded / COVERAGE),
        limits: Window { lower: row.lower_limit, upper: row.upper_limit },
    }
}
