//! Whole runs over a bad line: none changes a verdict.

use crate::kit::bad_line_runs::{Case, Class, cases, classes, table};
use crate::kit::bench::{ARRIVAL, PIER, QUAY};
use musterbench::link::pace::Pace;

#[test]
fn no_line_changes_a_verdict_in_a_thousand_runs() {
    table(&cases(), &classes(1_000));
}

#[test]
fn no_line_changes_the_verdict_of_the_arrival_script() {
    let cases = [
        Case::new(PIER, ARRIVAL, None, 1, Pace::USB),
        Case::new(QUAY, ARRIVAL, Some("contact-burnt"), 1, Pace::USB),
    ];
    let rates = [("none", 0.0, 2), ("1e-5", 1e-5, 10), ("1e-4", 1e-4, 10), ("1e-3", 1e-3, 10)];
    table(&cases, &rates.map(|(name, rate, runs)| Class::at(name, rate, runs)));
}
