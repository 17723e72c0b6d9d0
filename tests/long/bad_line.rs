//! Whole runs over a bad line, and with a jig that starts anew in the middle: none changes a verdict.

use crate::kit::bad_line_runs::{cases, classes, table};

#[test]
#[ignore = "four minutes"]
fn no_line_changes_a_verdict_in_ten_thousand_runs() {
    table(&cases(), &classes(10_000));
}

#[test]
#[ignore = "forty minutes"]
fn no_line_changes_a_verdict_in_a_hundred_thousand_runs() {
    table(&cases(), &classes(100_000));
}
