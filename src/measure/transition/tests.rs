use super::*;
use crate::measure::step::State;
use crate::measure::uncertainty::Estimate;
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use std::f64::consts::PI;

const FREE: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

fn look(start: usize) -> Look {
    Look { start, least: 0.05, resolution: 0.0, range: FREE }
}

/// Samples of a course that begins at `at`.
fn sampled(count: usize, at: f64, course: impl Fn(f64) -> f64) -> Vec<f64> {
    (0..count).map(|i| i as f64 - at).map(|t| if t < 0.0 { 0.0 } else { course(t) }).collect()
}

fn single_pole(tau: f64) -> impl Fn(f64) -> f64 {
    move |t| 1.0 - (-t / tau).exp()
}

fn second_order(zeta: f64, omega: f64) -> impl Fn(f64) -> f64 {
    let root = (1.0 - zeta * zeta).sqrt();
    move |t| {
        let (sin, cos) = (omega * root * t).sin_cos();
        1.0 - (-zeta * omega * t).exp() * (cos + zeta / root * sin)
    }
}

fn holds(crossing: &Crossing, truth: f64) -> bool {
    let u = Estimate::new(crossing.at, &crossing.components()).expanded();
    (crossing.at - truth).abs() <= u + 1e-9
}

/// Closed form of a single pole: 10 % to 90 % takes τ ln 9, 50 % is reached after τ ln 2, and it
/// stays within 2 % from τ ln 50 on. Rising and falling, on values of either width and on counts.
#[test]
fn a_single_pole_takes_ln_9_time_constants() {
    for tau in [3.0, 40.0, 300.0] {
        let at = 200.3;
        let v = sampled(6000, at, single_pole(tau));
        let f: Vec<f32> = v.iter().map(|&v| (7.0 - 3.0 * v) as f32).collect();
        let counts: Vec<i16> = v.iter().map(|&v| (20_000.0 * v - 9_000.0).round() as i16).collect();
        let coarse = Look { least: 50.0, resolution: 1.0, ..look(200) };
        for t in [
            transition(&v, &look(200)).unwrap(),
            transition(&f, &look(200)).unwrap(),
            transition(&counts, &coarse).unwrap(),
        ] {
            let duration = t.duration().unwrap();
            let reached = |share: f64| at - tau * (1.0 - share).ln();
            let instants = [(t.begin.unwrap(), 0.1), (t.first, 0.5), (t.end.unwrap(), 0.9)];
            for (instant, share) in instants {
                assert!(holds(&instant, reached(share)), "{tau}: {instant:?}");
            }
            // Between the sample before the begin and the one after nobody looked.
            let left = if tau > 10.0 { 2e-3 * tau } else { 0.5 };
            assert!((duration - tau * 9f64.ln()).abs() < left, "{tau}: {duration}");
            assert!((t.settling().unwrap() - tau * 25f64.ln()).abs() < 0.5 + 0.01 * tau, "{t:?}");
            assert_eq!((t.changes, t.first), (1, t.last));
            assert!(t.after.unwrap().over < 1e-3, "{t:?}");
        }
    }
}

/// Closed form of the second order: the first peak exceeds the final level by
/// exp(−πζ/√(1−ζ²)), the trough after it falls short by the square of that.
#[test]
fn a_second_order_overshoots_by_the_closed_form() {
    for zeta in [0.15, 0.2, 0.4, 0.6, 0.8] {
        let t = transition(&sampled(12_000, 500.5, second_order(zeta, 0.02)), &look(500)).unwrap();
        let peak = (-PI * zeta / (1.0 - zeta * zeta).sqrt()).exp();
        let after = t.after.unwrap();
        assert!((after.over - peak).abs() < 1e-4, "ζ = {zeta}: {after:?}");
        assert!((after.under - peak * peak).abs() < 1e-4, "ζ = {zeta}: {after:?}");
        // By definition of where it leaves its state.
        assert!(t.before.over <= 0.02 && t.before.under == 0.0, "ζ = {zeta}: {:?}", t.before);
        assert_eq!(t.changes, 1);
    }
}

/// An edge between two samples leaves the whole interval, and no more: its middle, half an interval
/// either way. A lamp's inrush ten times its final current does not draw it towards the peak.
#[test]
fn an_edge_between_two_samples_lies_within_half_an_interval() {
    for inrush in [0.0, 9.0] {
        let v = sampled(2000, 300.5, |t| 1.0 + inrush * (-t / 90.0).exp());
        let t = transition(&v, &look(300)).unwrap();
        for instant in [t.begin.unwrap(), t.first, t.end.unwrap()] {
            assert_eq!((instant.at, instant.half_width), (300.5, 0.5), "{inrush}");
            assert_eq!(instant.noise + instant.threshold, 0.0);
        }
        assert!((t.after.unwrap().over - inrush * (-0.5f64 / 90.0).exp()).abs() < 1e-3);
    }
}

/// IEC 61810-7: first closure and bounce time apart.
#[test]
fn a_bouncing_contact_has_a_first_and_a_last_closure() {
    let bounces = |t: f64| match t {
        0.0..40.0 | 60.0..65.0 | 100.0.. => 1.0,
        _ => 0.0,
    };
    let t = transition(&sampled(3000, 700.5, bounces), &look(600)).unwrap();
    assert_eq!((t.first.at, t.last.at, t.changes), (700.5, 800.5, 3));
    assert_eq!(t.after, Some(Aberration::default()));
    assert_eq!(t.settled.unwrap().floor(), 800.0);
}

#[test]
fn bad_records_are_told_apart() {
    let good = sampled(3000, 500.5, single_pole(30.0));
    let of = |v: &[f64]| transition(v, &look(500)).unwrap_err();
    assert_eq!(of(&good[..520]), NoStep::TooShort);
    assert_eq!(of(&good[..10]), NoStep::TooShort);
    assert_eq!(of(&[]), NoStep::TooShort);
    assert_eq!(of(&vec![0.0; 3000]), NoStep::NeverCame);
    assert_eq!(transition(&good, &Look { least: 1.1, ..look(500) }), Err(NoStep::NeverCame));
    let mut holed = good.clone();
    holed[1200] = f64::NAN;
    assert_eq!(of(&holed), NoStep::NoNumber);
    holed[1200] = f64::INFINITY;
    assert_eq!(of(&holed), NoStep::NoNumber);

    let never = sampled(3000, 500.5, single_pole(2000.0));
    assert!(matches!(of(&never), NoStep::NeverSettled { share } if share > 0.05), "{never:?}");
    let end = of(&sampled(3000, 500.5, |t| if (2300.0..2302.0).contains(&t) { 0.0 } else { 1.0 }));
    assert!(matches!(end, NoStep::NeverSettled { share } if share > 0.9), "{end:?}");
    let early = transition(&good, &look(540)).unwrap_err();
    assert!(matches!(early, NoStep::NeverStill { .. } | NoStep::NeverCame), "{early:?}");
}

/// A dip before the step, and a swing above: the aberrations before a transition.
#[test]
fn what_comes_before_a_transition_is_told() {
    let mut v = sampled(3000, 500.5, single_pole(30.0));
    (v[480], v[490]) = (-0.08, 0.05);
    // Out of the region: three transition durations before.
    v[250] = -0.2;
    let t = transition(&v, &look(200)).unwrap();
    assert!((t.before.under - 0.08).abs() < 1e-6 && (t.before.over - 0.05).abs() < 1e-6, "{t:?}");
}

/// What stands at an end of the range may lie anywhere beyond it: no level, and no overshoot.
#[test]
fn what_is_cut_off_gives_no_number() {
    let counts = |peak: f64| -> Vec<i16> {
        let course = |t: f64| 20_000.0 * (1.0 + peak * (-t / 50.0).exp());
        sampled(3000, 500.5, course).iter().map(|v| v.min(32_767.0) as i16).collect()
    };
    let look = Look { resolution: 1.0, range: (-32_768.0, 32_767.0), ..look(500) };
    assert!(transition(&counts(0.5), &look).unwrap().after.is_some());
    let cut = transition(&counts(0.9), &look).unwrap();
    assert_eq!((cut.after, cut.first.at), (None, 500.5));
    let level: Vec<i16> = counts(0.0).iter().map(|v| v.saturating_mul(2)).collect();
    assert_eq!(transition(&level, &look), Err(NoStep::Clipped(State::After)));
    let words = NoStep::Clipped(State::After).to_string();
    assert_eq!(words, "the level after the step is cut off at an end of what the channel can tell");
}

/// Real-looking records, drawn: noise, 50 Hz hum in any phase, ringing, a coil's rise, a lamp's
/// inrush, at any place between two samples. The truth lies in the stated interval in at least 94 %.
#[test]
fn the_truth_lies_in_the_interval_as_often_as_it_says() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(20);
    type Shape = fn(f64) -> f64;
    let shapes: [(&str, Shape, f64); 5] = [
        ("contact", |_| 1.0, 0.0),
        ("lamp", |t| 1.0 + 8.0 * (-t / 60.0).exp(), 0.0),
        ("coil", |t| 1.0 - (-t / 50.0).exp(), 50.0 * std::f64::consts::LN_2),
        ("fast coil", |t| 1.0 - (-t / 2.0).exp(), 2.0 * std::f64::consts::LN_2),
        ("slow lamp", |t| 1.0 - (-t / 150.0).exp(), 150.0 * std::f64::consts::LN_2),
    ];
    for (name, course, half_way) in shapes {
        for (noise, hum) in [(0.0005, 0.0), (0.005, 0.0), (0.02, 0.0), (0.002, 0.01)] {
            let (runs, mut inside) = (400, 0);
            for _ in 0..runs {
                let at = 500.0 + rng.random_range(0.0..50.0);
                let phase = rng.random_range(0.0..2.0 * PI);
                let mut v = sampled(3000, at, course);
                for (i, v) in v.iter_mut().enumerate() {
                    let n: f64 = StandardNormal.sample(&mut rng);
                    *v += noise * n + hum * (2.0 * PI * i as f64 / 100.0 + phase).sin();
                }
                let t = transition(&v, &look(500)).unwrap();
                inside += usize::from(holds(&t.first, at + half_way));
                assert_eq!(t.changes, 1, "{name}");
            }
            let share = f64::from(u32::try_from(inside).unwrap()) / f64::from(runs);
            println!("{name:10} noise {noise:6} hum {hum:5}: {share:.3}");
            assert!(share >= 0.94, "{name}, noise {noise}, hum {hum}: {share}");
        }
    }
}

proptest! {
    /// Whatever comes, there is an answer, and instants lie in the record.
    #[test]
    fn any_record_has_an_answer(
        v in prop::collection::vec(any::<i16>(), 0..900),
        start in 0usize..400,
        level in prop::option::of(any::<i16>()),
    ) {
        let mut v = v;
        let before = v.get(..start).map_or(0, <[i16]>::len);
        v[..before].fill(level.unwrap_or(0));
        v.extend(vec![level.map_or(9, |l| l.wrapping_add(3000)); 160]);
        let look = Look { least: 2.0, resolution: 1.0, ..look(start) };
        if let Ok(t) = transition(&v, &look) {
            let end = (v.len() - 1) as f64;
            for instant in [Some(t.first), Some(t.last), t.begin, t.end].into_iter().flatten() {
                prop_assert!((0.0..=end).contains(&instant.at), "{t:?}");
                prop_assert!(instant.half_width <= 0.5 && instant.noise >= 0.0);
            }
            prop_assert!(t.first.at <= t.last.at);
        }
    }
}
