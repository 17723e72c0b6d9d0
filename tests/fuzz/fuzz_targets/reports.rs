//! Reports and tables as they are read again, perhaps touched up by a spreadsheet or cut off. What is
//! read makes the same cells again and again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::record::row::Row;
use musterbench::record::{lot_csv, old_format, report, table};
use std::path::Path;

/// A row, written and read again.
fn through_cells(row: &Row) -> Row {
    let bytes = [table::header(row), table::row_line(row)].concat();
    let again = table::Table::read(&bytes).expect("a table");
    again.rows().next().expect("a row").read().expect("read again")
}

fuzz_target!(|bytes: &[u8]| {
    let path = Path::new("run-001.csv");
    if let Ok(read) = report::parse(path, bytes, None) {
        assert!(!read.is_proven);
        for reading in &read.readings {
            // Once through cells a control character has become a space; from then on nothing changes.
            let row = through_cells(&reading.row);
            assert_eq!(row, through_cells(&row));
        }
    }
    let _ = lot_csv::rows(bytes);
    if old_format::is_report(bytes) {
        let _ = old_format::report(bytes);
    }
    if old_format::is_journal(bytes)
        && let Some(text) = old_format::report_of_journal(bytes)
    {
        let _ = old_format::report(&text);
    }
});
