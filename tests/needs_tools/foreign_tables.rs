//! A general data base, which knows nothing of us, reads a folder of records.

use crate::prepared::finds_nothing_wrong;

#[test]
#[ignore = "needs python3, and the net for its packages"]
fn every_column_of_three_kinds_has_one_type() {
    finds_nothing_wrong("foreign_tables", "tables.py");
}
