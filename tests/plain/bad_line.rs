//! Whole runs over a bad line: none changes a verdict.

use crate::kit::bad_line_runs::{Case, cases, table};
use crate::kit::bench::{ARRIVAL, PIER, QUAY};
use musterbench::link::pace::Pace;

#[test]
fn no_line_changes_a_verdict_in_a_thousand_runs() {
    table(&cases(), &[(0.0, 6), (1e-5, 244), (1e-4, 250), (1e-3, 250), (3e-3, 100), (1e-2, 150)]);
}

#[test]
fn no_line_changes_the_verdict_of_the_arrival_script() {
    let cases = [
        Case::new(PIER, ARRIVAL, None, 1, Pace::USB),
        Case::new(QUAY, ARRIVAL, Some("contact-burnt"), 1, Pace::USB),
    ];
    table(&cases, &[(0.0, 2), (1e-5, 10), (1e-4, 10), (1e-3, 10)]);
}
