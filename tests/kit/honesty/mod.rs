//! Are the readings honest? Many simulated modules are drawn around the limits of their sheet, and
//! many jigs with their errors; what each reading says is held against what truly was.
//!
//! The method, and the table of the full size, stand in `docs/honesty.md`.

mod bench;
pub mod cells;
mod draw;
mod instants;
pub mod sound;
mod start;
mod table;
mod truth;
mod window;

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
pub use table::Table;

/// Does something with each of these, on all processors, in order as far as there are free ones.
pub fn each<T: Sync>(all: &[T], what: impl Fn(&T) + Sync) {
    let next = AtomicUsize::new(0);
    let workers = thread::available_parallelism().map_or(1, |n| n.get());
    thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| {
                while let Some(one) = all.get(next.fetch_add(1, Ordering::Relaxed)) {
                    what(one);
                }
            });
        }
    });
}

/// Runs modules of these seeds, on all processors.
pub fn table(seeds: core::ops::Range<u64>) -> Table {
    let workers = thread::available_parallelism().map_or(1, |n| n.get() as u64);
    let of_worker = |worker: u64| {
        let mut table = Table::default();
        seeds.clone().skip(worker as usize).step_by(workers as usize).for_each(|seed| {
            run(seed, &mut table);
        });
        table
    };
    thread::scope(|scope| {
        let all: Vec<_> = (0..workers).map(|w| scope.spawn(move || of_worker(w))).collect();
        let mut sum = Table::default();
        all.into_iter().for_each(|worker| sum.merge(worker.join().expect("a worker")));
        sum
    })
}

fn run(seed: u64, table: &mut Table) {
    table.add(seed, &bench::arrival(seed));
    if seed.is_multiple_of(IN_PLACE_EVERY) {
        table.add(seed, &bench::in_place(seed));
    }
}

/// One module in so many is tested in place too.
const IN_PLACE_EVERY: u64 = 2;
