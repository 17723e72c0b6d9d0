//! Whole runs over a bad line: none changes a verdict, in ten thousand.

use crate::kit::bad_line_runs::{cases, table};

#[test]
#[ignore = "ten minutes"]
fn no_line_changes_a_verdict_in_ten_thousand_runs() {
    table(
        &cases(),
        &[(0.0, 60), (1e-5, 2940), (1e-4, 3000), (1e-3, 2000), (3e-3, 1000), (1e-2, 1000)],
    );
}
