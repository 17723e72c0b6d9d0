//! How long a whole arrival run takes on the clock that jumps, and what of it is our own work.
//!
//! The script's own time is printed beside the shortest of many runs: their ratio is how much faster than
//! real time a simulated run is. The script is kept beside this file, so that figures of different days
//! can be compared.

#[macro_use]
#[path = "../kit/mod.rs"]
mod kit;

use criterion::{Criterion, criterion_group, criterion_main};
use kit::bench::{JETTY, PIER, QUAY, plan, run, setup, sheet};
use std::time::Instant;

const ARRIVAL: &str = include_str!("arrival.toml");

/// The shortest of so many runs: what else goes on on the machine only makes them longer.
const RUNS: usize = 40;

const KINDS: [(&str, &str); 3] = [("pier-four", PIER), ("quay-four", QUAY), ("jetty-two", JETTY)];

fn arrival(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("arrival run");
    group.sample_size(20);
    for (name, module) in KINDS {
        let plan = plan(module, ARRIVAL, None);
        let sheet = sheet(module);
        let seconds = || {
            let began = Instant::now();
            run(&plan, setup(&sheet, &[], 1));
            began.elapsed().as_secs_f64()
        };
        // Instructions are counted in the mode that only tries each: one run does.
        let runs = if std::env::args().any(|argument| argument == "--test") { 1 } else { RUNS };
        let took = (0..runs).map(|_| seconds()).fold(f64::INFINITY, f64::min);
        let own = plan.duration().as_secs_f64();
        println!("{name}: {own:.1} s of script in {:.2} ms, {:.0} times", took * 1e3, own / took);
        group.bench_function(name, |b| b.iter(|| run(&plan, setup(&sheet, &[], 1))));
    }
    group.finish();
}

criterion_group!(benches, arrival);
criterion_main!(benches);
