//! Are the readings honest? Many simulated modules are drawn around the limits of their sheet, and
//! many jigs with their errors; what each reading says is held against what truly was.
//!
//! The method, and the table of the full size, stand in `docs/honesty.md`.

mod bench;
mod calibrated;
pub mod cells;
mod draw;
mod instants;
pub mod sound;
mod start;
mod table;
mod truth;
mod window;

use super::all_cores;
pub use table::Table;

/// Runs modules of these seeds, on all cores.
pub fn table(seeds: core::ops::Range<u64>) -> Table {
    let mut sum = Table::default();
    let of_one = |&seed: &u64| {
        let mut table = Table::default();
        run(seed, &mut table);
        table
    };
    all_cores::in_order(seeds, of_one, |table| sum.merge(table));
    sum
}

fn run(seed: u64, table: &mut Table) {
    table.add(seed, &bench::arrival(seed));
    if seed.is_multiple_of(IN_PLACE_EVERY) {
        table.add(seed, &bench::in_place(seed));
    }
}

/// One module in so many is tested in place too.
const IN_PLACE_EVERY: u64 = 2;
