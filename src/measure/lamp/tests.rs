use super::*;
use crate::measure::filter::FILTER_S;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

const INTERVAL_US: u32 = 10_000;
const AVERAGE: u16 = 20;

/// Feed current averaged over 10 ms points: idle, a lamp, coil pulses every `every` seconds.
fn feed(rate: f64, duty: f64, noise: f64, seconds: f64, every: Option<f64>) -> Vec<f32> {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(11);
    (0..(seconds * 100.0) as usize)
        .map(|i| {
            let mean = (0..20)
                .map(|k| {
                    let t = i as f64 * 0.01 + f64::from(k) * 0.000_5;
                    let lit = (t * rate + 0.3).fract() < duty;
                    let coil = every.is_some_and(|e| (t % e) < 0.06 && t > 0.1);
                    0.030 + if lit { 0.008 } else { 0.0 } + if coil { 0.18 } else { 0.0 }
                })
                .sum::<f64>()
                / 20.0;
            let e: f64 = StandardNormal.sample(&mut rng);
            (mean + noise * e) as f32
        })
        .collect()
}

fn check(found: &Rhythm, rate: f64, duty: f64) {
    assert!((found.rate.value - rate).abs() <= found.rate.expanded() + 1e-6, "{found:?}");
    assert!((found.duty.value - duty).abs() <= found.duty.expanded() + 1e-6, "{found:?}");
    assert!(found.rate.expanded() < 0.02 * rate, "{found:?}");
    assert!(found.duty.expanded() < 0.02, "{found:?}");
}

#[test]
fn rate_and_duty_of_a_quiet_record() {
    for (rate, duty) in [(1.0, 0.5), (2.3, 0.25), (0.7, 0.9), (3.7, 0.5)] {
        let found =
            rhythm(&feed(rate, duty, 2e-4, 20.0, None), INTERVAL_US, AVERAGE, &[], 1e-4).unwrap();
        check(&found, rate, duty);
        assert!((found.drawn.value - 0.008).abs() < 4e-4);
    }
}

#[test]
fn coil_pulses_do_not_spoil_it() {
    for (rate, duty) in [(1.0, 0.5), (2.3, 0.4), (0.9, 0.8)] {
        let values = feed(rate, duty, 3e-4, 40.0, Some(0.77));
        let found = rhythm(&values, INTERVAL_US, AVERAGE, &[], 1e-4).unwrap();
        check(&found, rate, duty);
        let suspect: Vec<_> = (1..50).map(|k| k * 77..k * 77 + 10).collect();
        check(&rhythm(&values, INTERVAL_US, AVERAGE, &suspect, 1e-4).unwrap(), rate, duty);
    }
}

#[test]
fn a_steady_current_has_no_rhythm() {
    let steady = feed(1.0, 1.0, 2e-4, 20.0, Some(0.9));
    let suspect: Vec<_> = (0..30).map(|k| k * 90..k * 90 + 10).collect();
    assert_eq!(rhythm(&steady, INTERVAL_US, AVERAGE, &suspect, 1e-4), Err(NoRhythm::NoChange));
    assert_eq!(rhythm(&[0.03; 500], INTERVAL_US, AVERAGE, &[], 1e-4), Err(NoRhythm::NoChange));
}

#[test]
fn too_little_is_said_to_be_too_little() {
    assert_eq!(rhythm(&[0.03; 20], INTERVAL_US, AVERAGE, &[], 1e-4), Err(NoRhythm::TooShort));
    let short = feed(0.5, 0.5, 1e-4, 3.0, None);
    assert_eq!(rhythm(&short, INTERVAL_US, AVERAGE, &[], 1e-4), Err(NoRhythm::TooFewCycles));
}

#[test]
fn chance_is_no_rhythm() {
    // Phases of 0.1 to 1.5 s in no order.
    let mut values = Vec::new();
    let mut x = 12_345u32;
    for k in 0..40 {
        x = x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let length = 10 + (x >> 16) as usize % 140;
        values.extend(std::iter::repeat_n(if k % 2 == 0 { 0.03f32 } else { 0.04 }, length));
    }
    assert_eq!(rhythm(&values, INTERVAL_US, AVERAGE, &[], 1e-4), Err(NoRhythm::Irregular));
}

/// A feed current with two lamps in turn, of which the second draws less by a share, averaged over
/// 10 ms points, with a noise of `noise` a point. A coil pulses every 0.68 s.
fn two_lamps(difference: f64, noise: f64, rate: f64, duty: f64, seed: u64) -> Vec<f32> {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
    let phase = (seed as f64 * 0.618).fract();
    (0..3_000)
        .map(|i| {
            let mean = (0..10)
                .map(|k| {
                    let t = i as f64 * 0.01 + f64::from(k) * 0.001;
                    let first = (t * rate + phase).fract() < duty;
                    let since = t % 0.68;
                    let tail = (-(since - 0.04).max(0.0) / 0.002).exp();
                    let lamp = if first { 0.008 } else { 0.008 * (1.0 - difference) };
                    0.030 + lamp + 0.15 * tail
                })
                .sum::<f64>()
                / 10.0;
            let e: f64 = StandardNormal.sample(&mut rng);
            (mean + noise * e) as f32
        })
        .collect()
}

/// What is found over the difference of two lamps, the noise, and the rate: never a rhythm that is
/// not there, and intervals that hold the truth. Run with `--nocapture` for the table.
#[test]
fn survey_of_two_lamps() {
    const SEEDS: u64 = 6;
    let mut wrong = Vec::new();
    let mut found = 0;
    println!("difference (%) from which a rhythm is found with every seed; lamps of 8 mA");
    println!("rate Hz duty   noise of a 10 ms point: 5 µA   17 µA   50 µA  150 µA");
    for (rate, duty) in [(0.5, 0.5), (1.0, 0.5), (2.0, 0.3), (4.0, 0.5)] {
        let mut row = format!("{rate:7.1} {duty:4.1} {:25}", "");
        for noise in [5e-6, 17e-6, 50e-6, 150e-6] {
            let mut told_from = None;
            for difference in [0.0, 0.002, 0.005, 0.01, 0.015, 0.02, 0.03, 0.05, 0.1, 0.2] {
                let mut told = 0;
                for seed in 0..SEEDS {
                    let values = two_lamps(difference, noise, rate, duty, seed);
                    let suspect: Vec<_> = (0..45).map(|k| k * 68..k * 68 + 19).collect();
                    let seen = rhythm(&values, INTERVAL_US, AVERAGE, &suspect, 5e-5);
                    let Ok(seen) = seen else { continue };
                    told += 1;
                    found += 1;
                    let off =
                        |e: &Estimate, truth: f64| (e.value - truth).abs() > e.expanded() + 1e-6;
                    // Which of the two lamps counts is not told by the current.
                    let other = Estimate { value: 1.0 - seen.duty.value, ..seen.duty };
                    let is_off = off(&seen.duty, duty) && off(&other, duty);
                    if difference == 0.0 || off(&seen.rate, rate) || is_off {
                        wrong.push(format!("{rate} {duty} {noise} {difference} {seed}: {seen:?}"));
                    }
                }
                if told < SEEDS {
                    told_from = None;
                } else {
                    told_from = told_from.or(Some(difference));
                }
            }
            let from = told_from.map_or("never".into(), |d| format!("{:.1}", 100.0 * d));
            row.push_str(&format!("{from:>8}"));
        }
        println!("{row}");
    }
    println!("{} of {found} intervals miss the truth", wrong.len());
    assert!(found > 300, "{found}");
    // Intervals of 95 % may miss one in twenty.
    assert!(wrong.len() * 20 <= found, "{} of {found}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(!wrong.iter().any(|w| w.contains(" 0 ")), "a rhythm out of nothing: {wrong:#?}");
}

/// A lamp of 3 mA as a jig sends it: points of 20 conversions behind its filter, in whole counts of 50 µA, with noise
/// and the hum of 50 Hz. After each coil pulse, from `pulse_s` on one every 0.37 s, a reservoir behind a
/// resistor fills again with 9 mA, which die away with 12 ms.
fn as_sent(rate: f64, pulse_s: Option<f64>, seed: u64) -> Vec<f32> {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
    let [phase, hum_phase, level]: [f64; 3] = rng.random();
    (0..2_000)
        .map(|i| {
            let sum: f64 = (0..20)
                .map(|k| {
                    let t = f64::from(i) * 0.01 + f64::from(k) * 0.000_5;
                    let place = (t * rate + phase).fract();
                    let left = (-(place % 0.5) / rate / FILTER_S).exp();
                    let lamp = 60.0 * if place < 0.5 { 1.0 - left } else { left };
                    let since = pulse_s.map_or(1.0, |begin| (t + 0.37 - begin).rem_euclid(0.37));
                    let coil = if since < 0.04 {
                        3_000.0
                    } else {
                        180.0 * (-(since - 0.04) / 0.012).exp()
                    };
                    let hum = 0.4 * (std::f64::consts::TAU * (50.0 * t + hum_phase)).sin();
                    let noise: f64 = StandardNormal.sample(&mut rng);
                    600.0 + level + lamp + coil + hum + 1.5 * noise
                })
                .sum();
            ((sum / 20.0).round() * 5e-5) as f32
        })
        .collect()
}

/// Errors of the rate over many records are as large as their standard uncertainties say.
#[test]
fn the_noise_of_whole_counts_is_told_right() {
    let (mut squares, mut stated) = (0.0, 0.0);
    for seed in 0..300 {
        let rate = 0.9 + 0.2 * (seed as f64 * 0.618).fract();
        let found = rhythm(&as_sent(rate, None, seed), INTERVAL_US, AVERAGE, &[], 5e-5).unwrap();
        squares += (found.rate.value - rate).powi(2);
        stated += found.rate.standard.powi(2);
    }
    let ratio = (squares / stated).sqrt();
    assert!((0.9..1.1).contains(&ratio), "{ratio}");
}

/// What dies away after a coil pulse does not spoil a change that comes just then.
#[test]
fn the_rest_of_a_pulse_is_no_part_of_a_change() {
    let (records, mut held) = (150, 0);
    for seed in 0..records {
        let begin_s = 0.37 * (seed as f64 * 0.755).fract();
        let values = as_sent(1.0, Some(begin_s), seed);
        let from = |k: usize| ((begin_s + 0.37 * k as f64) * 100.0) as usize;
        let suspect: Vec<_> = (0..54).map(|k| from(k)..from(k) + 7).collect();
        let found = rhythm(&values, INTERVAL_US, AVERAGE, &suspect, 5e-5);
        held += usize::from(found.is_ok_and(|f| (f.rate.value - 1.0).abs() <= f.rate.expanded()));
    }
    assert!(held as u64 * 100 >= records * 94, "{held} of {records}");
}

/// Lamps of any height above any level: as often held as stated.
#[test]
fn what_it_draws_is_held_as_often_as_stated() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(6);
    let (runs, mut held) = (400, 0);
    for _ in 0..runs {
        let (dark, lamp) = (rng.random_range(100.0..400.0), rng.random_range(20.0..150.0));
        let noise = rng.random_range(0.4..1.5);
        let values: Vec<f32> = (0..1_000)
            .map(|i| {
                let off: f64 = StandardNormal.sample(&mut rng);
                (dark + if i % 60 < 20 { lamp } else { 0.0 } + noise * off) as f32
            })
            .collect();
        let found = rhythm(&values, INTERVAL_US, AVERAGE, &[], 1.0).unwrap().drawn;
        held += usize::from((found.value - lamp).abs() <= found.expanded());
    }
    let share = held as f64 / f64::from(runs);
    assert!((0.92..0.98).contains(&share), "{share}");
}
