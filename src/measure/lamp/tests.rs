use super::*;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

const INTERVAL_US: u32 = 10_000;

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
        let found = rhythm(&feed(rate, duty, 2e-4, 20.0, None), INTERVAL_US, &[], 1e-4).unwrap();
        check(&found, rate, duty);
        assert!((found.step - 0.008).abs() < 4e-4);
    }
}

#[test]
fn coil_pulses_do_not_spoil_it() {
    for (rate, duty) in [(1.0, 0.5), (2.3, 0.4), (0.9, 0.8)] {
        let values = feed(rate, duty, 3e-4, 40.0, Some(0.77));
        let found = rhythm(&values, INTERVAL_US, &[], 1e-4).unwrap();
        check(&found, rate, duty);
        let suspect: Vec<_> = (1..50).map(|k| k * 77..k * 77 + 10).collect();
        check(&rhythm(&values, INTERVAL_US, &suspect, 1e-4).unwrap(), rate, duty);
    }
}

#[test]
fn a_steady_current_has_no_rhythm() {
    let steady = feed(1.0, 1.0, 2e-4, 20.0, Some(0.9));
    let suspect: Vec<_> = (0..30).map(|k| k * 90..k * 90 + 10).collect();
    assert_eq!(rhythm(&steady, INTERVAL_US, &suspect, 1e-4), Err(NoRhythm::NoChange));
    assert_eq!(rhythm(&[0.03; 500], INTERVAL_US, &[], 1e-4), Err(NoRhythm::NoChange));
}

#[test]
fn too_little_is_said_to_be_too_little() {
    assert_eq!(rhythm(&[0.03; 20], INTERVAL_US, &[], 1e-4), Err(NoRhythm::TooShort));
    let short = feed(0.5, 0.5, 1e-4, 3.0, None);
    assert_eq!(rhythm(&short, INTERVAL_US, &[], 1e-4), Err(NoRhythm::TooFewCycles));
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
    assert_eq!(rhythm(&values, INTERVAL_US, &[], 1e-4), Err(NoRhythm::Irregular));
}
