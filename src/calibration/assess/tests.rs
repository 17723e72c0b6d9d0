use super::*;
use crate::measure::uncertainty::coverage_factor;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

const ACCURACY: Accuracy = Accuracy { share: 5e-4, fixed_a: 5e-5 };
const LINEARITY: f64 = 2e-4;
const CLASS: ChannelClass = ChannelClass {
    resolution: 1e-4,
    gain: 5e-3,
    offset: 5e-4,
    linearity: LINEARITY,
    with_voltage: 0.0,
    corrected: None,
};

/// Points of a channel that reads `current · gain + offset`.
fn points(currents: &[f64], gain: f64, offset: f64) -> Vec<CalibrationPoint> {
    currents
        .iter()
        .map(|&reference| CalibrationPoint {
            reference,
            u_reference: if reference == 0.0 { 0.0 } else { 3e-6 },
            reading: reference * gain + offset,
            u_reading: 3e-5,
        })
        .collect()
}

const CURRENTS: [f64; 6] = [0.0, 0.055, 0.12, 0.255, 0.545, 1.0];

#[test]
fn a_sound_channel_gets_its_line() {
    let fitted = fit(&points(&CURRENTS, 1.004, -3e-4), &ACCURACY, LINEARITY).unwrap();
    assert!((fitted.gain - 1.0 / 1.004).abs() < 1e-9);
    assert!((fitted.offset - 3e-4 / 1.004).abs() < 1e-9);
    assert_eq!((fitted.dof, fitted.freedom), (4, f64::INFINITY));
    assert!(fitted.u_gain > 5e-4 / 3f64.sqrt(), "the meter's share cannot average out");
    assert!(fitted.u_gain < 1e-3 && fitted.u_offset < 2e-4);
    assert!(against_class(&fitted, &CLASS).is_ok());
}

#[test]
fn what_the_meter_is_off_by_moves_the_line_as_foreseen() {
    let exact = fit(&points(&CURRENTS, 1.0, 0.0), &ACCURACY, LINEARITY).unwrap();
    let mut off = points(&CURRENTS, 1.0, 0.0);
    for p in off.iter_mut().filter(|p| !p.is_zero()) {
        p.reference += ACCURACY.at(p.reference);
    }
    let moved = fit(&off, &ACCURACY, LINEARITY).unwrap();
    // The gain takes the share, and the zero, which no meter read, keeps the offset down.
    assert!((moved.gain - exact.gain - 5e-4).abs() < 2e-4);
    assert!((moved.offset - exact.offset).abs() < 5e-5);
    // A rectangle's end lies √3 standard uncertainties out.
    let reach = 3f64.sqrt() * 1.5;
    assert!((moved.gain - exact.gain).abs() < reach * exact.u_gain);
}

#[test]
fn refusals_say_why() {
    let accuracy = &ACCURACY;
    let told = |points: &[CalibrationPoint]| fit(points, accuracy, LINEARITY).unwrap_err();
    assert_eq!(told(&points(&CURRENTS[..3], 1.0, 0.0)), Refusal::TooFew { found: 3 });
    assert_eq!(told(&points(&CURRENTS[1..], 1.0, 0.0)), Refusal::NoZero);
    let mut twice = points(&CURRENTS, 1.0, 0.0);
    twice[3] = twice[2];
    assert_eq!(told(&twice), Refusal::Same(3, 4));

    let mut slipped = points(&CURRENTS, 1.0, 0.0);
    slipped[4].reference /= 10.0;
    assert_eq!(
        told(&slipped).to_string(),
        "points 1 and 5 contradict each other: the reference goes from 0 A to 54.5 mA while the jig \
         goes from 0 A to 545 mA; look at the meter's range and at what was typed"
    );

    let mut bent = points(&CURRENTS, 1.0, 0.0);
    bent[3].reading += 2e-3;
    assert!(matches!(told(&bent), Refusal::Residual { point: 4, .. }), "{}", told(&bent));

    // Each point just inside, all together too much: a channel that is rough all along.
    let mut rough = points(&[0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0], 1.0, 0.0);
    for (i, p) in rough.iter_mut().enumerate() {
        p.reading += if i % 2 == 0 { 2.6e-4 } else { -2.6e-4 };
    }
    assert!(matches!(told(&rough), Refusal::Scatter { .. }), "{}", told(&rough));

    let exact = CalibrationPoint { u_reading: 0.0, ..points(&CURRENTS, 1.0, 0.0)[0] };
    let mut without = points(&CURRENTS, 1.0, 0.0);
    without[0] = exact;
    assert_eq!(fit(&without, accuracy, 0.0), Err(Refusal::NoLine(NoLine::Exact(1))));
}

#[test]
fn a_broken_channel_is_not_calibrated_away() {
    let steep = fit(&points(&CURRENTS, 1.05, 0.0), &ACCURACY, LINEARITY).unwrap();
    let error = against_class(&steep, &CLASS).unwrap_err().to_string();
    assert!(
        error.starts_with("its gain is off by 5 %, far more than the 0.5 % of its class"),
        "{error}"
    );
    let high = fit(&points(&CURRENTS, 1.0, 5e-3), &ACCURACY, LINEARITY).unwrap();
    assert!(against_class(&high, &CLASS).unwrap_err().to_string().starts_with("its offset"));
}

#[test]
fn scatter_beyond_what_was_stated_widens_the_line() {
    let mut loose = points(&CURRENTS, 1.0, 0.0);
    for (p, by) in loose.iter_mut().zip([1.4e-4, -1.8e-4, 1.4e-4, -1.4e-4, 1.4e-4, -0.7e-4]) {
        p.reading += by;
    }
    let fitted = fit(&loose, &ACCURACY, LINEARITY).unwrap();
    assert!(fitted.chi_square / 4.0 > 1.0 && fitted.freedom == 4.0, "{fitted:?}");
}

/// JCGM 101 in small: channels, meters and readings drawn as they are stated; the interval of the
/// corrected value holds the truth at least as often as it says, at every current.
#[test]
fn the_interval_of_a_corrected_value_holds_the_truth() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(11);
    let runs = 4000;
    let trials = [0.02, 0.3, 0.55, 1.0, 1.5];
    let mut inside = [0; 5];
    for _ in 0..runs {
        let mut within = |a: f64| a * rng.random_range(-1.0..=1.0);
        let (gain, offset) = (1.0 + within(CLASS.gain), within(CLASS.offset));
        let (share, fixed) = (within(ACCURACY.share), within(ACCURACY.fixed_a));
        let mut drawn = points(&CURRENTS, gain, offset);
        for p in &mut drawn {
            // Non-linearity drawn anew at each point: as wide as stated.
            p.reading += within(LINEARITY);
            if !p.is_zero() {
                p.reference += share * p.reference + fixed;
            }
        }
        for p in &mut drawn {
            let z: f64 = StandardNormal.sample(&mut rng);
            p.reading += z * p.u_reading;
        }
        let Ok(fitted) = fit(&drawn, &ACCURACY, LINEARITY) else { continue };
        for (truth, inside) in trials.iter().zip(&mut inside) {
            let reading = truth * gain + offset;
            let value = fitted.offset + fitted.gain * reading;
            let r = fitted.correlation;
            let u = crate::measure::uncertainty::correlated(
                &[fitted.u_offset, reading * fitted.u_gain],
                &[[1.0, r], [r, 1.0]],
            );
            *inside += usize::from((value - truth).abs() <= coverage_factor(fitted.freedom) * u);
        }
    }
    for (truth, inside) in trials.iter().zip(inside) {
        let share = inside as f64 / f64::from(runs);
        assert!((0.93..0.99).contains(&share), "{truth} A: {share}");
    }
}
