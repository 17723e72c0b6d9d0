//! Are the readings honest? A sample of the proof in `docs/honesty.md`, small enough for every day.

use crate::kit::honesty::{Table, cells, table};

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

/// One module of every cell: kinds of module and of load, with every script. The whole stands in
/// `tests/long/honesty.rs`.
#[test]
fn readings_of_every_kind_on_every_load_are_honest() {
    let mut sum = Table::default();
    for (seed, cell) in (9_000_000..).zip(cells::all()) {
        sum.merge(cell.table(seed..seed + 1));
    }
    println!("{sum}");
    let seldom = sum.too_seldom();
    let misses: Vec<_> = sum.misses().take(20).collect();
    assert!(seldom.is_empty(), "{seldom:?}: {misses:#?}");
}

/// One sound module of every other cell: none fails, and none is blamed.
#[test]
fn sound_modules_on_every_load_do_not_fail() {
    for (seed, cell) in (9_100_000..).zip(cells::all()).step_by(2) {
        let sound = cell.sound(seed..seed + 1, &mut Table::default());
        assert_eq!(
            (sound.failed, sound.module_blamed, sound.trouble),
            (0, 0, 0),
            "{cell}, seed {seed}"
        );
    }
}
