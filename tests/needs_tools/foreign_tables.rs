//! A general data base, which knows nothing of us, reads a folder of records.

use crate::prepared::{folder, prepare};
use std::process::Command;

#[test]
#[ignore = "needs python3, and the net for its packages"]
fn every_column_of_three_kinds_has_one_type() {
    let python = prepare("foreign_tables").unwrap_or_else(|why| panic!("{why}"));
    let output = Command::new(python)
        .arg(folder("foreign_tables").join("tables.py"))
        .arg(env!("CARGO_BIN_EXE_musterbench"))
        .output()
        .expect("python starts");
    let said = String::from_utf8_lossy(&output.stdout);
    println!("{said}");
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
}
