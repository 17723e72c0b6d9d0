//! A general instrument library, which knows nothing of us, drives the served bench.

use crate::prepared::{folder, prepare};
use std::process::Command;

#[test]
#[ignore = "needs python3, and the net for its packages"]
fn a_foreign_client_finds_nothing_wrong() {
    let python = prepare("foreign_client").unwrap_or_else(|why| panic!("{why}"));
    let output = Command::new(python)
        .arg(folder("foreign_client").join("client.py"))
        .arg(env!("CARGO_BIN_EXE_musterbench"))
        .output()
        .expect("python starts");
    let said = String::from_utf8_lossy(&output.stdout);
    println!("{said}");
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
}
