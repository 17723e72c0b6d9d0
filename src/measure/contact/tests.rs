use super::*;
use crate::measure::channel_class::ChannelClass;
use crate::measure::record::Trace;
use crate::measure::scale::{Ends, Scale};
use crate::measure::uncertainty::Estimate;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Time between conversions.
const EVERY_US: usize = 100;
/// The converter's filter.
const FILTER_US: f64 = 16.0;
const SUPPLY_V: f64 = 12.0;
const SPAN_US: usize = 40_000;
/// Nothing moves before.
const STILL_US: usize = 10_000;

/// What is seen of a contact that changes at these instants, in microseconds; it begins open or closed.
struct Bench {
    is_closed: bool,
    changes: Vec<f64>,
    average: u16,
    has_filter: bool,
}

/// What hangs behind the contact: takes a step of a microsecond and says current and clamp voltage.
type Load = Box<dyn FnMut(bool) -> (f64, f64)>;

/// A load's name, how it is made, and the least current that tells; `None` where it could be nothing.
type Case = (&'static str, fn() -> Load, Option<f64>);

fn resistor(ohm: f64) -> Load {
    Box::new(move |closed| if closed { (SUPPLY_V / ohm, SUPPLY_V) } else { (0.0, 0.0) })
}

/// A coil with a diode behind the shunt: opened, its current runs round and the clamp falls below zero.
fn coil(ohm: f64, tau_us: f64, mut current: f64) -> Load {
    Box::new(move |closed| {
        let driven = if closed { SUPPLY_V } else { -0.4 };
        current = (current + (driven / ohm - current) / tau_us).max(0.0);
        match (closed, current > 0.0) {
            (true, _) => (current, SUPPLY_V),
            (false, true) => (0.0, -0.4),
            (false, false) => (0.0, 0.0),
        }
    })
}

/// A filament: cold it draws eight times as much.
fn lamp(hot_a: f64, tau_us: f64) -> Load {
    let mut above = 7.0;
    Box::new(move |closed| {
        if closed {
            above -= above / tau_us;
            let current = hot_a * (1.0 + above);
            (current, SUPPLY_V - 0.3 * current)
        } else {
            (0.0, 0.0)
        }
    })
}

/// A capacitor at the input of a board that draws a trickle.
fn board(series_ohm: f64, farad: f64, trickle_a: f64, mut volt: f64) -> Load {
    Box::new(move |closed| {
        let current = if closed { (SUPPLY_V - volt) / series_ohm } else { 0.0 };
        let drawn = if volt > 1.0 { trickle_a } else { 0.0 };
        volt += (current - drawn) * 1e-6 / farad;
        (current, if closed { SUPPLY_V } else { volt })
    })
}

impl Bench {
    /// The record of current (channel 101) and voltage (channel 401).
    fn record(&self, mut load: Load, rng: &mut Xoshiro256PlusPlus) -> Record {
        let mut seen: [Vec<f64>; 2] = Default::default();
        let share = if self.has_filter { 1.0 - (-1.0 / FILTER_US).exp() } else { 1.0 };
        let mut filtered = load(self.is_closed);
        for t in 0..SPAN_US {
            let flips = self.changes.iter().filter(|&&at| at <= t as f64).count();
            let (current, volt) = load(self.is_closed ^ (flips % 2 == 1));
            filtered.0 += share * (current - filtered.0);
            filtered.1 += share * (volt - filtered.1);
            if t % EVERY_US == 0 {
                seen[0].push(filtered.0);
                seen[1].push(filtered.1);
            }
        }
        let average = usize::from(self.average);
        let mut trace = |channel, values: &[f64], per_count: f64| Trace {
            channel,
            skew_us: 0.0,
            counts: values
                .chunks_exact(average)
                .map(|point| {
                    let noisy = point.iter().map(|v| {
                        let z: f64 = StandardNormal.sample(rng);
                        v / per_count + 1.5 * z
                    });
                    (noisy.sum::<f64>() / average as f64).round() as i16
                })
                .collect(),
            scale: Scale { zero: 0.0, per_count },
            ends: Ends::NONE,
            class: ChannelClass { resolution: per_count, ..ChannelClass::default() },
        };
        let interval_us = (EVERY_US * average) as u32;
        Record {
            first_us: ((average - 1) * EVERY_US / 2) as u64,
            interval_us,
            average: self.average,
            trigger_us: Some(0),
            traces: vec![trace(101, &seen[0], 1e-4), trace(401, &seen[1], 1e-3)],
        }
    }
}

fn contact(record: &Record, current: Option<f64>, has_voltage: bool) -> Contact<'_> {
    let witness = |at: usize, least| Witness { trace: &record.traces[at], least };
    Contact {
        current: current.map(|least| witness(0, least)),
        voltage: has_voltage.then(|| witness(1, 0.3 * SUPPLY_V)),
    }
}

fn start(record: &Record) -> usize {
    STILL_US / record.interval_us as usize
}

fn holds(found: &Instant, truth_us: f64) -> bool {
    let found: Estimate = found.after(0.0);
    (found.value - 1e-6 * truth_us).abs() <= found.expanded()
}

/// A closing with bounce, drawn: one to three rebounds within a time, in any lengths.
fn bouncing(rng: &mut Xoshiro256PlusPlus) -> Vec<f64> {
    let begin = rng.random_range(15_000..16_000);
    let within = rng.random_range(300..2_500);
    let rebounds = rng.random_range(0..=3);
    let mut times: Vec<i32> = (0..2 * rebounds).map(|_| rng.random_range(1..within)).collect();
    times.push(0);
    times.sort_unstable();
    times.iter().map(|&t| f64::from(begin + t)).collect()
}

/// How often first and last closing were held, of all changes there were.
fn closings(load: impl Fn() -> Load, current: Option<f64>, has_voltage: bool) -> [f64; 2] {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(5);
    let (runs, mut held) = (200, [0; 2]);
    for run in 0..runs {
        let changes = bouncing(&mut rng);
        let average = [1, 2, 4][run % 3];
        let bench = Bench { is_closed: false, changes: changes.clone(), average, has_filter: true };
        let record = bench.record(load(), &mut rng);
        let found = contact(&record, current, has_voltage).closing(&record, start(&record));
        let found = found.expect("it closed");
        held[0] += usize::from(holds(&found.first, changes[0]));
        let last = changes[changes.len() - 1];
        held[1] += usize::from(found.last.is_none_or(|at| holds(&at, last)));
    }
    held.map(|held| held as f64 / runs as f64)
}

/// The first and the last of all closings there were, also of those that no conversion falls into, lie
/// in their intervals, whatever load the contact meets.
#[test]
fn closings_are_held_on_every_load() {
    for (name, load, current) in [
        ("resistor", (|| resistor(24.0)) as fn() -> Load, Some(0.02)),
        ("fast coil", || coil(120.0, 100.0, 0.0), Some(0.005)),
        ("slow coil", || coil(120.0, 50_000.0, 0.0), Some(0.005)),
        ("lamp", || lamp(0.15, 4_000.0), Some(0.008)),
        ("board", || board(8.0, 100e-6, 0.02, 0.0), Some(0.002)),
        ("diode of a milliampere", || resistor(12_000.0), None),
    ] {
        let held = closings(load, current, true);
        println!("{name}: first {:.3}, last {:.3}", held[0], held[1]);
        assert!(held[0] >= 0.94, "{name}: first {held:?}");
        // A board's capacitor holds its clamp up between the rebounds.
        assert!(held[1] >= 0.94 || name == "board", "{name}: last {held:?}");
    }
}

/// By the current alone: a coil's closing lies before it is seen, and its last one is not told.
#[test]
fn without_a_voltage_a_lagging_current_leaves_open_and_never_shifts() {
    for tau_us in [100.0, 1_000.0, 50_000.0] {
        let load = move || coil(120.0, tau_us, 0.0);
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(9);
        let (runs, mut held) = (200, 0);
        for run in 0..runs {
            let at = rng.random_range(15_000.0..16_000.0);
            let average = [1, 2, 4][run % 3];
            let bench = Bench { is_closed: false, changes: vec![at], average, has_filter: true };
            let record = bench.record(load(), &mut rng);
            let found = contact(&record, Some(0.005), false).closing(&record, start(&record));
            let found = found.expect("it closed");
            held += usize::from(holds(&found.first, at));
            assert!(tau_us <= 1_000.0 || found.last.is_none(), "{tau_us}: {found:?}");
        }
        assert!(held * 100 >= 94 * runs, "{tau_us}: {held} of {runs}");
    }
}

/// An opening is held by the current's end, and by the voltage's leaving where no current tells.
#[test]
fn openings_are_held_on_every_load() {
    let loads: [Case; 6] = [
        ("resistor", || resistor(24.0), Some(0.02)),
        ("coil that still rises", || coil(120.0, 50_000.0, 0.02), Some(0.005)),
        ("lamp", || lamp(0.15, 4_000.0), Some(0.008)),
        ("board", || board(8.0, 100e-6, 0.02, 11.8), Some(0.002)),
        ("board whose current could be nothing", || board(8.0, 3e-6, 0.002, 11.98), None),
        ("diode of a milliampere", || resistor(12_000.0), None),
    ];
    for (name, load, current) in loads {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(6);
        let (runs, mut held) = (200, 0);
        for run in 0..runs {
            let at = rng.random_range(20_000.0..21_000.0);
            let average = [1, 2, 4][run % 3];
            let bench = Bench { is_closed: true, changes: vec![at], average, has_filter: true };
            let record = bench.record(load(), &mut rng);
            let found = contact(&record, current, true).opening(&record, start(&record));
            let found = found.unwrap_or_else(|| panic!("{name}: no opening"));
            held += usize::from(holds(&found.last, at));
        }
        println!("{name}: {held} of {runs}");
        assert!(held * 100 >= 94 * runs, "{name}: {held} of {runs}");
    }
}

/// A clamp that is held up, behind a current that could be nothing: nothing tells, and nothing is said.
#[test]
fn what_nothing_tells_is_no_opening() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(6);
    let bench = Bench { is_closed: true, changes: vec![20_000.0], average: 2, has_filter: true };
    let record = bench.record(board(8.0, 10e-3, 0.001, 11.99), &mut rng);
    let held_up = contact(&record, None, true);
    assert_eq!(held_up.opening(&record, start(&record)), None);
    assert!(held_up.holds_up(start(&record)));
}

#[test]
fn a_touch_that_no_conversion_falls_into_is_the_first_closing() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(6);
    // 40 µs long, over 30 µs before the next conversion.
    let changes = vec![20_030.0, 20_070.0, 21_500.0];
    let bench = Bench { is_closed: false, changes, average: 2, has_filter: true };
    let record = bench.record(resistor(24.0), &mut rng);
    let found = contact(&record, Some(0.02), true).closing(&record, start(&record)).unwrap();
    assert!(holds(&found.first, 20_030.0), "{found:?}");
    assert_eq!((found.count, found.told_by), (2, ToldBy::Voltage));
}
