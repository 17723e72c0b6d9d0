use super::*;
use crate::measure::channel_class::Corrected;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

const CLASS: ChannelClass = ChannelClass {
    resolution: 1e-4,
    gain: 0.0,
    offset: 5e-4,
    linearity: 0.0,
    with_voltage: 0.0,
    corrected: None,
};

/// A course that begins at a phase between two samples, after three without current, behind the filter: a
/// single pole, step by step.
fn sampled(phase: f64, interval: f64, count: usize, of: impl Fn(f64) -> f64) -> Vec<f32> {
    let step = 1e-6;
    let follows = -(-step / FILTER_S).exp_m1();
    let (mut now, mut seen) = (0.0, 0.0);
    let mut values = Vec::new();
    for i in 0..count {
        let at = (i as f64 - 3.0 + phase) * interval;
        while now + step <= at {
            seen += follows * (of(now + 0.5 * step) - seen);
            now += step;
        }
        values.push(seen as f32);
    }
    values
}

fn course(values: &[f32], interval_s: f64, settled: f64) -> StartTrace<'_, f32> {
    let scale = Scale::VALUES;
    let before_s = interval_s;
    StartTrace { values, scale, interval_s, before_s, zero: 0.0, settled, class: CLASS }
}

/// A single pole that decays from 1.2 A to 0.2 A: half is gone after ln 2 time constants.
#[test]
fn a_decay_of_a_single_pole_wherever_the_samples_fall() {
    let (tau, dt): (f64, f64) = (0.005, 1e-4);
    // Every phase is as likely as any other: 95 of 100 are held, and the rest hardly missed.
    let (mut held, mut held_decay) = (0, 0);
    for phase in (0..100).map(|i| (f64::from(i) + 0.5) / 100.0) {
        let values = sampled(phase, dt, 400, |t| 0.2 + (-t / tau).exp());
        let found = course(&values, dt, 0.2).peak().unwrap();
        let off = (found.current.value - 1.2).abs();
        assert!(off <= 1.1 * found.current.expanded(), "{phase}: {off}");
        assert!(found.current.expanded() < 0.03);
        held += usize::from(off <= found.current.expanded());
        let decay = found.decay.unwrap();
        let off = (decay.value - tau * core::f64::consts::LN_2).abs();
        assert!(off <= 1.5 * decay.expanded(), "{phase}: {off}, {}", decay.expanded());
        assert!(decay.expanded() < 0.1 * dt, "what the instant leaves open cancels");
        held_decay += usize::from(off <= decay.expanded());
        assert!(found.resolved);
    }
    assert!(held >= 95 && held_decay >= 95, "{held}, {held_decay}");
}

/// A single pole rises from 10 % to 90 % in ln 9 time constants (IEEE Std 181).
#[test]
fn a_rise_of_a_single_pole() {
    let (tau, dt): (f64, f64) = (1.2 / 360.0, 1e-4);
    for phase in [0.01, 0.5, 0.99] {
        let values = sampled(phase, dt, 400, |t| -0.033 * (-t / tau).exp_m1());
        let (rise, resolved) = course(&values, dt, 0.033).rise().unwrap();
        assert!((rise.value / (tau * 9f64.ln()) - 1.0).abs() < 1e-3, "{rise:?}");
        assert!(resolved);
    }
}

#[test]
fn what_is_too_fast_or_not_there_is_said() {
    let dt = 1e-4;
    let fast = sampled(0.5, dt, 100, |t| 0.2 + (-t / 1e-4).exp());
    assert!(!course(&fast, dt, 0.2).peak().unwrap().resolved);
    let slow = sampled(0.5, dt, 100, |t| 0.2 + (-t / 1.0).exp());
    assert_eq!(course(&slow, dt, 0.2).peak().unwrap().decay, None);
    assert_eq!(course(&[0.0; 100], dt, 0.2).peak(), None);
    assert_eq!(course(&[], dt, 0.2).rise(), None);
    assert_eq!(course(&[0.1; 2], dt, 0.2).peak(), None);
    assert_eq!(course(&[0.1; 100], dt, 0.2).rise(), None);
}

/// A slow rise through noise: the highest sample lies above the settled current, and a sample may lie
/// between a tenth of the one and a tenth of the other.
#[test]
fn a_slow_rise_in_noise_is_read_every_time() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(11);
    let (tau, dt, noise) = (0.05, 2e-4, 1.5e-4);
    for _ in 0..200 {
        let phase = rng.random_range(0.0..1.0);
        let mut values = sampled(phase, dt, 2_000, |t| -0.12 * (-t / tau).exp_m1());
        for v in &mut values {
            let z: f64 = StandardNormal.sample(&mut rng);
            *v += (noise * z) as f32;
        }
        let (rise, resolved) = course(&values, dt, 0.12).rise().expect("a rise");
        // Five standard deviations of the noise where it is flattest, at 90 %.
        let most = 5.0 * noise / (0.1 * 0.12 / tau);
        assert!(resolved && (rise.value - tau * 9f64.ln()).abs() < most, "{rise:?}");
    }
}

/// A coil that is half up, or all the way, when the first sample is taken has a current all the same:
/// its rise is too fast to be judged, and the interval that is stated holds it.
#[test]
fn a_rise_that_began_before_the_first_sample_is_too_fast() {
    let (tau, dt): (f64, f64) = (5e-5, 1e-4);
    for late in [0.2e-4, 0.5e-4, 0.9e-4] {
        let values: Vec<f32> =
            (0..50).map(|i| (-0.1 * (-(late + f64::from(i) * dt) / tau).exp_m1()) as f32).collect();
        let (rise, resolved) = course(&values, dt, 0.1).rise().unwrap();
        assert!(!resolved);
        let truth = tau * 9f64.ln();
        assert!((rise.value - truth).abs() <= rise.expanded(), "{late}: {rise:?}");
    }
}

/// A coil that is up within three samples: the course between two of them is bent one way, so its passage of 90 %
/// is known far better than to an interval.
#[test]
fn a_fast_rise_is_known_better_than_to_an_interval() {
    let (tau, dt): (f64, f64) = (1e-4, 1e-4);
    let truth = tau * 9f64.ln();
    for phase in (0..100).map(|i| (f64::from(i) + 0.5) / 100.0) {
        let values = sampled(phase, dt, 100, |t| -0.12 * (-t / tau).exp_m1());
        let (rise, _) = course(&values, dt, 0.12).rise().unwrap();
        assert!((rise.value - truth).abs() <= rise.expanded(), "{phase}: {rise:?}");
        // Two intervals that nothing is known of would leave 0.8 of one.
        assert!(rise.expanded() < 0.72 * dt, "{phase}: {rise:?}");
    }
}

/// Monte Carlo: a gain that is drawn turns all samples and the settled current by one share. The
/// times stay as they are, and their uncertainty is that of a channel without any gain error;
/// the current's is not.
#[test]
fn the_gain_moves_no_instant() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(5);
    let (tau, dt) = (0.004, 1e-4);
    let left = Corrected { gain: 0.02, gain_drift: 0.05, ..Corrected::default() };
    let classes = [
        CLASS,
        ChannelClass { gain: 0.05, ..CLASS },
        ChannelClass { corrected: Some(left), ..CLASS },
    ];
    for _ in 0..200 {
        let (phase, gain) = (rng.random_range(0.0..1.0), rng.random_range(0.95..1.05));
        let lamp = |t: f64| 0.15 + (-t / tau).exp();
        let coil = |t: f64| -0.3 * (-t / tau).exp_m1();
        let read = |class, gain: f64| {
            let lamp = sampled(phase, dt, 400, |t| gain * lamp(t));
            let coil = sampled(phase, dt, 400, |t| gain * coil(t));
            let peak = StartTrace { class, ..course(&lamp, dt, gain * 0.15) }.peak().unwrap();
            let rise = StartTrace { class, ..course(&coil, dt, gain * 0.3) }.rise().unwrap().0;
            (peak.current, [peak.decay.unwrap(), rise])
        };
        let (current, times) = read(CLASS, 1.0);
        for class in classes {
            let (_, turned) = read(class, gain);
            let (wider, stated) = read(class, 1.0);
            assert!(class == CLASS || wider.standard > 1.1 * current.standard);
            for ((time, turned), stated) in times.iter().zip(turned).zip(stated) {
                // Samples are rounded to single precision; what is led back multiplies that.
                assert!((time.value - turned.value).abs() < 5e-4 * dt, "{time:?} {turned:?}");
                assert_eq!(time.standard, stated.standard, "{class:?}");
            }
        }
    }
}

/// With noise, and an instant anywhere between two samples, the interval holds the truth as often
/// as it says.
#[test]
fn the_uncertainty_is_that_of_the_readings() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(3);
    let (tau, dt, noise) = (0.004, 1e-4, 2e-3);
    let (runs, mut peaks, mut decays) = (2_000, 0, 0);
    for _ in 0..runs {
        let phase = rng.random_range(0.0..1.0);
        let mut values = sampled(phase, dt, 200, |t| 0.15 + (-t / tau).exp());
        for v in &mut values {
            let z: f64 = StandardNormal.sample(&mut rng);
            *v += (noise * z) as f32;
        }
        let found = course(&values, dt, 0.15).peak().unwrap();
        peaks += u32::from((found.current.value - 1.15).abs() <= found.current.expanded());
        let decay = found.decay.unwrap();
        let truth = tau * core::f64::consts::LN_2;
        decays += u32::from((decay.value - truth).abs() <= decay.expanded());
    }
    for held in [peaks, decays] {
        let share = f64::from(held) / f64::from(runs);
        assert!(share >= 0.94, "{share}");
    }
}
