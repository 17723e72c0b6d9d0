//! Are the readings honest? A sample of the proof in `docs/honesty.md`, small enough for every day.

use crate::kit::honesty::table;

/// How many modules are drawn.
const MODULES: u64 = 200;
/// Standard deviations of chance that few modules have room for.
const FEW: f64 = 3.0;

#[test]
fn readings_of_modules_around_the_limits_are_honest() {
    let table = table(1..MODULES + 1);
    println!("{table}");
    table.assert_honest(FEW);
}
