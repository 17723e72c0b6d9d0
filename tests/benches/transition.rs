//! How many samples a second the transition analysis takes, and how many times that is what a
//! vectorised NumPy script does with the same record in the same run.
//!
//! The script is `transition.py`. It runs with the Python named in `PYTHON`, else `python3`, which
//! needs NumPy; where there is none the ratio is left out, and that is said. What both find must be
//! the same, or the benchmark fails.
//!
//! The function is the one that a run calls, on counts as they come from a jig and on the values in
//! amperes that a run makes of them. The first figures are those of the fastest of many passes, so
//! that a machine that does other work besides still tells; the means are criterion's.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use musterbench::measure::sample::Sample;
use musterbench::measure::step::Look;
use musterbench::measure::transition::{Transition, transition};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use std::f64::consts::PI;
use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

/// Samples of a record.
const SAMPLES: usize = 200_000;
/// The first sample at which anything may move.
const START: usize = 20_000;
/// Passes of which the fastest counts, on both sides.
const PASSES: usize = 1_000;
/// Counts of the final level.
const SPAN: f64 = 16_000.0;

/// A record: a course that begins somewhere after `START`, with noise and 50 Hz hum.
fn record(course: impl Fn(f64) -> f64) -> Vec<i16> {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(1);
    let begin = 25_000.4;
    (0..SAMPLES)
        .map(|i| {
            let t = i as f64 - begin;
            let level = if t < 0.0 { 0.0 } else { course(t) };
            let noise: f64 = StandardNormal.sample(&mut rng);
            // A sample a microsecond.
            let hum = 0.002 * (2.0 * PI * 50e-6 * i as f64).sin();
            (SPAN * (level + hum) + 12.0 * noise - 5_000.0).round() as i16
        })
        .collect()
}

fn records() -> [(&'static str, Vec<i16>); 3] {
    let bounces = |t: f64| !(300.0..900.0).contains(&t) && !(1_400.0..1_700.0).contains(&t);
    [
        ("bouncing contact", record(|t| f64::from(bounces(t)))),
        ("lamp", record(|t| 1.0 + 0.9 * (-t / 1_000.0).exp())),
        ("coil", record(|t| 1.0 - (-t / 2_500.0).exp())),
    ]
}

fn look(resolution: f64) -> Look {
    let range = (-32_768.0 * resolution, 32_767.0 * resolution);
    Look { start: START, least: 100.0 * resolution, resolution, range }
}

fn analysed<S: Sample>(values: &[S], resolution: f64) -> Transition {
    transition(black_box(values), &look(resolution)).expect("there is a transition")
}

/// Shortest time of a pass, in seconds.
fn fastest<S: Sample>(values: &[S], resolution: f64) -> f64 {
    let pass = |_| {
        let began = Instant::now();
        black_box(analysed(values, resolution));
        began.elapsed().as_secs_f64()
    };
    (0..PASSES).map(pass).fold(f64::INFINITY, f64::min)
}

/// What the script says: its shortest time, and what it found. `None` without Python or NumPy.
fn script(counts: &[i16]) -> Option<Vec<f64>> {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR"));
    let file = tempfile::NamedTempFile::new().expect("a place for the record");
    let bytes: Vec<u8> = counts.iter().flat_map(|count| count.to_le_bytes()).collect();
    std::fs::write(file.path(), bytes).expect("room for the record");
    let python = std::env::var("PYTHON").unwrap_or("python3".into());
    if !Command::new(&python).args(["-c", "import numpy"]).output().ok()?.status.success() {
        return None;
    }
    let said = Command::new(&python)
        .arg(dir.join("tests/benches/transition.py"))
        .arg(file.path())
        .args([START.to_string(), PASSES.to_string()])
        // One core on both sides.
        .env("OMP_NUM_THREADS", "1")
        .env("OPENBLAS_NUM_THREADS", "1")
        .output()
        .ok()?;
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let numbers = String::from_utf8(said.stdout).expect("numbers");
    Some(numbers.split_whitespace().map(|n| n.parse().expect("a number")).collect())
}

/// Both must have found the same: levels to a thousandth of a count, instants to a thousandth of a
/// sample, shares to a millionth.
fn compare(name: &str, ours: &Transition, theirs: &[f64]) {
    let after = ours.after.expect("nothing is cut off");
    let found = [
        ("level before", ours.step.before.value, 1e-3),
        ("level after", ours.step.after.value, 1e-3),
        ("first 50 % instant", ours.first.at, 1e-3),
        ("last 50 % instant", ours.last.at, 1e-3),
        ("duration", ours.duration().expect("a whole rise"), 1e-3),
        ("overshoot", after.over, 1e-6),
        ("undershoot", after.under, 1e-6),
        ("settled", ours.settled.expect("it was outside"), 1e-3),
    ];
    for ((what, own, within), their) in found.into_iter().zip(theirs) {
        assert!((own - their).abs() <= within, "{name}, {what}: {own} here, {their} by the script");
    }
}

fn transitions(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("transition");
    group.throughput(Throughput::Elements(SAMPLES as u64)).sample_size(10);
    for (name, counts) in records() {
        let values: Vec<f32> = counts.iter().map(|&c| f32::from(c) * 1e-4).collect();
        let millions = SAMPLES as f64 * 1e-6;
        let (fast, fast_values) = (fastest(&counts, 1.0), fastest(&values, 1e-4));
        println!("{name}: counts {:.0} million samples a second", millions / fast);
        println!("{name}: values {:.0} million samples a second", millions / fast_values);
        match script(&counts) {
            None => println!("{name}: no Python with NumPy (set PYTHON), so no ratio"),
            Some(said) => {
                compare(name, &analysed(&counts, 1.0), &said[1..]);
                let (theirs, ratio) = (millions / said[0], said[0] / fast);
                println!("{name}: NumPy  {theirs:.0} million samples a second");
                println!("{name}: {ratio:.1} times NumPy");
            }
        }
        group.bench_function(format!("{name}, counts"), |b| b.iter(|| analysed(&counts, 1.0)));
        group.bench_function(format!("{name}, values"), |b| b.iter(|| analysed(&values, 1e-4)));
    }
    group.finish();
}

criterion_group!(benches, transitions);
criterion_main!(benches);
