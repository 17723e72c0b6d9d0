use super::*;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use statrs::distribution::{ContinuousCDF, Normal};

const ASKED: Asked = Asked { coverage: 0.95, confidence: 0.95, room: false };

fn exactly(value: f64) -> Estimate {
    Estimate::new(value, &[])
}

fn taken(specimen: u32, ampere: f64) -> Measurement {
    Measurement { specimen, current: exactly(ampere), voltage: exactly(12.0), moved_a: 0.0 }
}

fn one(currents: &[f64]) -> Vec<Measurement> {
    currents.iter().map(|&a| taken(1, a)).collect()
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3: 43 wafers with a mean of 97.07 ohm cm and
/// a standard deviation of 0.0350 ohm cm; 90 % coverage at 99 % confidence makes k = 2.2173 by Howe's
/// approximation, hence 96.99 to 97.15.
#[test]
fn the_wafers_of_the_handbook() {
    // 43 values with just this mean and deviation: one at the mean, and 42 this far from it.
    let half = 0.035;
    let values: Vec<f64> = (0..43)
        .map(|i| match i {
            0 => 97.07,
            i if i % 2 == 0 => 97.07 + half,
            _ => 97.07 - half,
        })
        .collect();
    let asked = Asked { coverage: 0.90, confidence: 0.99, room: false };
    let found = SampleLimits::of(&one(&values), asked).unwrap();
    assert!((found.deviation_a - 0.035).abs() < 1e-9, "{}", found.deviation_a);
    assert!((found.lower_a - 96.99).abs() < 5e-3 && (found.upper_a - 97.15).abs() < 5e-3);
}

/// What all measurements share is added whole, however often they are repeated; the noise of each
/// is not: it is in the scatter already.
#[test]
fn what_all_measurements_share_does_not_average_out() {
    let shared = Component::standard(1e-3).from(Source::Gain);
    let noise = Component::type_a(5e-3, 20.0).from(Source::Noise);
    for times in [5, 50, 500] {
        let mut all = one(&vec![0.5; times]);
        all.iter_mut().for_each(|t| t.current = Estimate::new(0.5, &[shared, noise]));
        let found = SampleLimits::of(&all, ASKED).unwrap();
        assert_eq!(found.deviation_a, 0.0);
        assert!((found.upper_a - 0.5 - 1.959_964e-3).abs() < 1e-8, "{found:?}");
    }
    // A voltage that is read wrongly by 1 ‰ may mean 2 ‰ of the current.
    let mut all = one(&[0.5; 10]);
    let volt = Estimate::new(12.0, &[Component::standard(0.012).from(Source::Gain)]);
    all.iter_mut().for_each(|t| t.voltage = volt);
    let found = SampleLimits::of(&all, ASKED).unwrap();
    assert!((found.common_a - 1.959_964 * 1e-3).abs() < 1e-8, "{found:?}");
}

/// A reading on a jig of the same class, off by all that it may be, passes with its guard band.
#[test]
fn there_is_room_for_the_reading_and_its_guard_band() {
    let mut all = one(&[0.5; 10]);
    let gain = Component::standard(1e-3).from(Source::Gain);
    all.iter_mut().for_each(|t| t.current = Estimate::new(0.5, &[gain]));
    let found = SampleLimits::of(&all, Asked { room: true, ..ASKED }).unwrap();
    let u = found.common_a;
    // The sample was read too low by u, the load is now read too high by u.
    let read = Estimate::new(0.5 + 2.0 * u, &[gain]);
    assert!((read.expanded() - u).abs() < 1e-12);
    assert!(read.value + read.expanded() <= found.upper_a + 1e-12, "{found:?}");
    let bare = SampleLimits::of(&all, ASKED).unwrap();
    assert!((bare.upper_a - 0.5 - u).abs() < 1e-12 && bare.room_a == 0.0);
}

/// Analysis of variance, one way, by hand: four specimens, two measurements each.
/// Means 1.0, 1.1, 1.2, 1.3; within ±0.01: MS between = 2 · 0.05/3, MS within = 4 · 0.0002/4.
#[test]
fn specimens_count_once() {
    let all: Vec<Measurement> = [1.0, 1.1, 1.2, 1.3]
        .iter()
        .zip(1..)
        .flat_map(|(&a, n)| [taken(n, a - 0.01), taken(n, a + 0.01)])
        .collect();
    let found = SampleLimits::of(&all, ASKED).unwrap();
    let (between, within) = (2.0 * 0.05 / 3.0, 0.0002);
    assert!((found.deviation_a.powi(2) - (between / 2.0 + within / 2.0)).abs() < 1e-12);
    assert!((found.between_a.unwrap().powi(2) - (between - within) / 2.0).abs() < 1e-12);
    assert_eq!(found.counted, 4);
    // Factor for four values, 95 % and 95 %: 6.34 (Berthouex and Brown, table 21.1).
    assert!((found.factor - 6.34).abs() < 0.04, "{}", found.factor);
}

#[test]
fn too_few_or_senseless_measurements_are_refused() {
    let few = SampleLimits::of(&one(&[0.5, 0.5, 0.5]), ASKED);
    assert_eq!(few, Err(SampleError::FewTimes(3)));
    let pair: Vec<Measurement> = (1..=2).flat_map(|n| [taken(n, 0.5); 10]).collect();
    assert_eq!(SampleLimits::of(&pair, ASKED), Err(SampleError::FewSpecimens(2)));
    assert_eq!(SampleLimits::of(&[], ASKED), Err(SampleError::FewSpecimens(0)));
    let none = SampleLimits::of(&one(&[0.0, 0.0, 0.0, 0.0]), ASKED);
    assert!(matches!(none, Err(SampleError::Nothing(_))), "{none:?}");
    let wild = SampleLimits::of(&one(&[0.1, 0.9, 0.1, 0.9]), ASKED);
    assert!(matches!(wild, Err(SampleError::Scatter { .. })), "{wild:?}");
    let all = Asked { coverage: 1.0, confidence: 0.95, room: false };
    assert_eq!(SampleLimits::of(&one(&[0.5; 9]), all), Err(SampleError::Shares));
    let mut falls = one(&[0.5; 9]);
    falls[3].moved_a = -0.02;
    let found = SampleLimits::of(&falls, ASKED);
    assert!(matches!(found, Err(SampleError::Moves { share }) if (share - 4.0).abs() < 1e-9));
    let mut unequal = one(&[0.5; 9]);
    unequal.extend((2..=5).map(|n| taken(n, 0.5)));
    assert_eq!(SampleLimits::of(&unequal, ASKED), Err(SampleError::Unequal));
}

/// The promise itself, for one specimen and for several of which either scatter may dominate.
#[test]
fn the_limits_hold_what_they_promise() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(5);
    let mut normal = move || -> f64 { StandardNormal.sample(&mut rng) };
    let runs = 400;
    for (specimens, times, between) in [(1, 6, 0.0), (4, 5, 0.0), (4, 5, 0.7), (6, 3, 0.95)] {
        // Single measurements have a standard deviation of 10 mA in all.
        let (apart, within) = (0.01 * f64::sqrt(between), 0.01 * f64::sqrt(1.0 - between));
        let spread = Normal::new(0.5, 0.01).unwrap();
        let mut holds = 0;
        for _ in 0..runs {
            let all: Vec<Measurement> = (1..=specimens)
                .flat_map(|n| {
                    let own = 0.5 + apart * normal();
                    (0..times).map(|_| taken(n, own + within * normal())).collect::<Vec<_>>()
                })
                .collect();
            let found = SampleLimits::of(&all, ASKED).unwrap();
            let share = spread.cdf(found.upper_a) - spread.cdf(found.lower_a);
            holds += u32::from(share >= ASKED.coverage);
        }
        // Four standard deviations of the binomial distribution below what is promised.
        let share = f64::from(holds) / f64::from(runs);
        let least = 0.95 - 4.0 * (0.95 * 0.05 / f64::from(runs)).sqrt();
        assert!(share >= least, "{specimens} × {times}, {between}: {share}");
    }
}
