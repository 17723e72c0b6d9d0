use super::*;
use crate::measure::uncertainty::Component;
use proptest::prelude::*;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

fn value(value: f64, standard: f64) -> Estimate {
    Estimate::new(value, &[Component::standard(standard)])
}

/// JCGM 106:2012, 7.3, table 1: conformance probability against the distance to one limit, in
/// standard uncertainties.
#[test]
fn one_limit() {
    for (probability, z) in [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
    {
        // The distance is published with two decimals.
        let at = |z: f64| conformance(&value(5.0 - 2.0 * z, 2.0), &Window::at_most(5.0), None);
        assert!(at(z - 0.005).inside < probability && probability < at(z + 0.005).inside);
        let other = conformance(&value(5.0 + 2.0 * z, 2.0), &Window::at_least(5.0), None);
        assert!((other.inside - at(z).inside).abs() < 1e-12);
        assert!((at(z).inside + at(z).outside - 1.0).abs() < 1e-12);
    }
}

/// The ball bearings of JCGM 106:2012, 9.5.4: a production with a gamma distribution (shape 4,
/// scale 1/4 µm), at most 2 µm allowed, measured with 0.25 µm. Values as published in the worked
/// notebook `Risk - Ball Bearing` of Sandia National Laboratories' suncal.
#[test]
fn ball_bearings() {
    let gamma = |x: f64| if x > 0.0 { 256.0 / 6.0 * x.powi(3) * (-4.0 * x).exp() } else { 0.0 };
    let bad = integral::of(&gamma, 2.0, 20.0, &[3.0, 5.0]);
    assert!((bad - 0.042_380_111_991_684_01).abs() < 1e-10, "{bad}");
    let risks = |guard| of_density(&gamma, (0.0, 20.0), 0.25, &Window::at_most(2.0), guard);
    let simple = risks(0.0).consumer;
    assert!((simple - 0.008_019_111_884_303_471).abs() < 1e-9, "{simple}");
    // The guard band that brings the consumer's risk down to 0.1 %.
    let guarded = risks(0.328_171_228_456_043_96).consumer;
    assert!((guarded - 0.001).abs() < 1e-8, "{guarded}");
}

/// The precision resistors of JCGM 106:2012 (1500 Ω, limits ± 0.20 Ω, production 0.12 Ω, measured
/// with 0.04 Ω, accepted within ± 0.18 Ω). Published, from memory: consumer's risk 1 %, producer's
/// 7 %. The further digits by SciPy 1.17.1, `scipy.integrate.quad`.
#[test]
fn precision_resistors() {
    let made = Production { centre: 1500.0, spread: 0.12 };
    let limits = Window::between(1499.8, 1500.2);
    for (guard, consumer, producer) in [
        (0.0, 0.018_942_206_716_891_133, 0.037_207_800_177_953_596),
        (0.02, 0.009_878_291_521_694_145, 0.069_026_510_461_587_28),
    ] {
        let risks = of_rule(made, 0.04, &limits, guard);
        assert!((risks.consumer - consumer).abs() < 1e-9, "{risks:?}");
        assert!((risks.producer - producer).abs() < 1e-9, "{risks:?}");
    }
    // One of them, measured at 1500.19 Ω: SciPy 1.17.1, `scipy.stats.norm`.
    let one = conformance(&value(1500.19, 0.04), &limits, Some(made));
    assert!((one.inside - 0.777_631_061_427_386).abs() < 1e-9, "{one:?}");
}

/// SciPy 1.17.1, `scipy.stats.t.sf(2, 5)`.
#[test]
fn few_degrees_of_freedom_make_long_tails() {
    let few = Estimate::new(0.0, &[Component::type_a(1.0, 5.0)]);
    let outside = conformance(&few, &Window::at_most(2.0), None).outside;
    assert!((outside - 0.050_969_739_414_929_174).abs() < 1e-9, "{outside}");
}

/// Items drawn, measured and judged: each count within four standard deviations of its binomial
/// distribution. This ties the risks of single readings to those of the rule too.
#[test]
fn drawn_items_agree() {
    let made = Production { centre: 10.0, spread: 0.5 };
    let (limits, standard, guard) = (Window::between(9.0, 11.0), 0.2, 0.15);
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(106);
    let mut draw = || -> f64 { StandardNormal.sample(&mut rng) };
    let inside = |x: f64| (9.0..=11.0).contains(&x);
    const ITEMS: usize = 200_000;
    let (mut consumer, mut producer, mut foreseen) = (0, 0, 0.0);
    for _ in 0..ITEMS {
        let item = made.centre + made.spread * draw();
        let seen = item + standard * draw();
        let accepted = (9.0 + guard..=11.0 - guard).contains(&seen);
        consumer += usize::from(accepted && !inside(item));
        producer += usize::from(!accepted && inside(item));
        if accepted {
            foreseen += conformance(&value(seen, standard), &limits, Some(made)).outside;
        }
    }
    let risks = of_rule(made, standard, &limits, guard);
    let n = ITEMS as f64;
    for (found, risk) in [
        (consumer as f64, risks.consumer),
        (producer as f64, risks.producer),
        // A mean of chances scatters less than a count.
        (foreseen, risks.consumer),
    ] {
        let bound = 4.0 * (n * risk * (1.0 - risk)).sqrt();
        assert!((found - n * risk).abs() < bound, "{found} of {n}, foreseen {}", n * risk);
    }
}

#[test]
fn a_verdict_is_wrong_on_its_other_side() {
    let limits = Window::at_most(1.0);
    let of = |verdict, v| of_reading(&value(v, 0.1), &limits, None)?.wrong(verdict);
    assert!((of(Verdict::Pass, 1.0 - 0.164_485_4).unwrap() - 0.05).abs() < 1e-7);
    assert!((of(Verdict::Fail, 1.0 + 0.164_485_4).unwrap() - 0.05).abs() < 1e-7);
    assert_eq!(of(Verdict::Indeterminate, 1.0), None);
    assert_eq!(of(Verdict::Pass, f64::NAN), None);
    assert_eq!(of_reading(&value(0.0, 1.0), &Window::OPEN, None), None);
    // Very small ones keep their digits: SciPy, `scipy.stats.norm.sf(10)`.
    let far = of(Verdict::Pass, 0.0).unwrap();
    assert!((far / 7.619_853_024_160_527e-24 - 1.0).abs() < 1e-6, "{far}");
    // What is certain is not wrong, on a limit neither.
    for v in [0.5, 1.0] {
        let known = of_reading(&value(v, 0.0), &limits, None).unwrap();
        assert_eq!(known.wrong(Verdict::Pass), Some(0.0));
    }
}

#[test]
fn a_production_needs_two_limits() {
    let made = Production::within(&Window::between(2.0, 4.0), 0.15);
    assert_eq!(made, Some(Production { centre: 3.0, spread: 0.3 }));
    assert_eq!(Production::within(&Window::at_most(4.0), 0.15), None);
    assert_eq!(Production::within(&Window::between(2.0, 2.0), 0.15), None);
}

proptest! {
    #[test]
    fn chances_add_up(
        v in -10.0f64..10.0, u in 0.0f64..5.0, dof in 0.5f64..1e5, a in -8.0f64..8.0,
        w in 0.01f64..8.0, share in proptest::option::of(0.01f64..1.0),
    ) {
        let window = Window::between(a, a + w);
        let production = share.and_then(|s| Production::within(&window, s));
        let estimate = Estimate::new(v, &[Component::type_a(u, dof)]);
        let c = conformance(&estimate, &window, production);
        prop_assert!((0.0..=1.0).contains(&c.inside) && (0.0..=1.0).contains(&c.outside));
        prop_assert!((c.inside + c.outside - 1.0).abs() < 1e-6, "{c:?}");
    }

    /// Farther inside is surer; more uncertain is less sure.
    #[test]
    fn risk_of_a_pass_is_monotone(d in 0.0f64..5.0, more in 0.0f64..3.0, u in 0.01f64..3.0) {
        let outside = |d: f64, u: f64| {
            conformance(&value(-d, u), &Window::at_most(0.0), None).outside
        };
        prop_assert!(outside(d + more, u) <= outside(d, u));
        prop_assert!(outside(d, u + more) >= outside(d, u));
    }

    /// A wider guard band shifts risk from the consumer to the producer.
    #[test]
    fn guard_bands_shift_the_risk(
        centre in -1.0f64..1.0, spread in 0.05f64..1.0, u in 0.0f64..0.5, g in 0.0f64..0.6,
        more in 0.0f64..0.6,
    ) {
        let made = Production { centre, spread };
        let at = |guard| of_rule(made, u, &Window::between(-1.0, 1.0), guard);
        let (narrow, wide) = (at(g), at(g + more));
        for risks in [narrow, wide] {
            prop_assert!((-1e-12..=1.0).contains(&risks.consumer));
            prop_assert!((-1e-12..=1.0 + 1e-9).contains(&risks.producer));
        }
        prop_assert!(wide.consumer <= narrow.consumer + 1e-7);
        prop_assert!(wide.producer >= narrow.producer - 1e-7);
    }
}
