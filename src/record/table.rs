//! Tables as CSV files: a row is a struct, its fields are the columns, in their order.
//!
//! Nobody counts columns here: `serde` derives them from the struct, for writing and for reading. A
//! value becomes a cell as [`cell`] says.

use super::cell;
use serde::de::{DeserializeOwned, Error};
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::Value;

/// The fields of a row, by name, in their order.
fn fields(row: &impl Serialize) -> serde_json::Map<String, Value> {
    match serde_json::to_value(row) {
        Ok(Value::Object(fields)) => fields,
        // Rows are structs of numbers, words and texts.
        _ => unreachable!("a row is a struct"),
    }
}

/// The columns of a kind of row, of which `row` is any.
pub fn columns(row: &impl Serialize) -> Vec<String> {
    fields(row).into_iter().map(|(name, _)| name).collect()
}

/// The header line of a kind of row, of which `row` is any.
pub fn header(row: &impl Serialize) -> Vec<u8> {
    line(columns(row))
}

/// The line of a row.
pub fn row_line(row: &impl Serialize) -> Vec<u8> {
    line(fields(row).iter().map(|(_, value)| cell_of(value)))
}

fn cell_of(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Bool(truth) => cell::yes_no(*truth),
        Value::Number(number) => match number.as_u64() {
            Some(whole) => whole.to_string(),
            None => cell::number(number.as_f64()),
        },
        Value::String(text) => cell::text(text),
        Value::Array(_) | Value::Object(_) => unreachable!("a cell holds one value"),
    }
}

/// One CSV line with its line end.
pub fn line<I, T>(cells: I) -> Vec<u8>
where
    I: IntoIterator<Item = T>,
    T: AsRef<[u8]>,
{
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .buffer_capacity(1024)
        .from_writer(Vec::with_capacity(1024));
    // Writing to memory cannot fail.
    writer.write_record(cells).expect("a line in memory");
    writer.into_inner().expect("a line in memory")
}

/// A table that was read. Columns go by their names: others than those asked for do no harm.
#[derive(Debug)]
pub struct Table {
    header: csv::StringRecord,
    rows: Vec<csv::StringRecord>,
}

impl Table {
    /// Reads a table; text is as it was before it was made safe.
    ///
    /// # Errors
    /// When it is no CSV file, or a row does not fit the header.
    pub fn read(bytes: &[u8]) -> Result<Self, csv::Error> {
        let mut reader = csv::ReaderBuilder::new().from_reader(bytes);
        let header = reader.headers()?.clone();
        let bare = |row: csv::StringRecord| row.iter().map(cell::bare).collect();
        let rows = reader.records().map(|row| row.map(bare)).collect::<Result<_, _>>()?;
        Ok(Table { header, rows })
    }

    /// The names of its columns.
    pub fn columns(&self) -> impl Iterator<Item = &str> {
        self.header.iter()
    }

    /// Its rows.
    pub fn rows(&self) -> impl Iterator<Item = Raw<'_>> {
        self.rows.iter().map(|cells| Raw { cells, header: &self.header })
    }
}

/// A row as it stands in the file.
#[derive(Clone, Copy, Debug)]
pub struct Raw<'t> {
    cells: &'t csv::StringRecord,
    header: &'t csv::StringRecord,
}

impl Raw<'_> {
    /// The fields of a struct.
    ///
    /// # Errors
    /// When a column is missing, or a cell is not of its type.
    pub fn read<R: DeserializeOwned>(&self) -> Result<R, csv::Error> {
        self.cells.deserialize(Some(self.header))
    }
}

/// For a field of `yes` or `no`; where it is no cell, of true or false.
///
/// # Errors
/// When it is neither.
pub fn yes_or_no<'de, D: Deserializer<'de>>(cell: D) -> Result<bool, D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Told {
        Truth(bool),
        Word(String),
    }
    match Told::deserialize(cell)? {
        Told::Truth(truth) => Ok(truth),
        Told::Word(word) if word == "yes" => Ok(true),
        Told::Word(word) if word == "no" => Ok(false),
        Told::Word(_) => Err(D::Error::custom("neither yes nor no")),
    }
}

/// For a field that holds a number, or nothing.
///
/// # Errors
/// When it is no finite number.
pub fn figure<'de, D: Deserializer<'de>>(cell: D) -> Result<Option<f64>, D::Error> {
    match Option::<f64>::deserialize(cell)? {
        Some(value) if !value.is_finite() => Err(D::Error::custom("no finite number")),
        value => Ok(value),
    }
}
