//! Reports and tables as they are read again, perhaps touched up by a spreadsheet or cut off. What is
//! read makes the same cells when it is written again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::record::{lot_csv, old_format, report, table};
use std::path::Path;

fuzz_target!(|bytes: &[u8]| {
    let path = Path::new("run-001.csv");
    if let Ok(read) = report::parse(path, bytes, None) {
        assert!(!read.is_proven);
        for reading in &read.readings {
            let line = table::row_line(&reading.row);
            let header = table::header(&reading.row);
            let again = table::Table::read(&[header, line].concat()).expect("a table");
            let row = again.rows().next().expect("a row").read().expect("read again");
            assert_eq!(reading.row, row);
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
