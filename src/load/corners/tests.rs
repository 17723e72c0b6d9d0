use super::*;
use crate::load::kinds::{Coil, Lamp, Led, Measured, Motor, Resistor};
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use proptest::prelude::*;

#[test]
fn a_resistance_on_the_way_is_in_series() {
    for (volt, ohm, load) in [(12.0, 0.4, 22.0), (5.0, 100.0, 0.1), (12.0, 0.0, 7.0)] {
        let i = behind(volt, ohm, |across| across / load);
        assert!((i / (volt / (ohm + load)) - 1.0).abs() < 1e-12, "{i}");
    }
    // A load that keeps its current up to the last volt.
    let i = behind(12.0, 1.0, |across| 0.5 * (across.max(0.0) / 12.0).powf(0.001));
    assert!((i - 0.5 * ((12.0 - i) / 12.0_f64).powf(0.001)).abs() < 1e-12, "{i}");
}

#[test]
fn an_input_without_a_range_has_one_end_only() {
    let input = |lower, upper| Input { name: "", unit: "1", nominal: 1.0, lower, upper };
    assert_eq!(corners(&[input(1.0, 1.0), input(0.0, 2.0)]), [[1.0, 0.0], [1.0, 2.0]]);
    assert_eq!(corners(&[]), vec![Vec::<f64>::new()]);
}

fn within<Q: Units>(nominal: f64, share: f64) -> Toleranced<Q> {
    let at = |by: f64| Q::from_si(nominal * (1.0 + by));
    Toleranced { nominal: at(0.0), lower: at(-share), upper: at(share) }
}

/// Any of the models, with tolerances of up to 30 %.
fn any_part() -> impl Strategy<Value = Part> {
    let share = || 0.0f64..0.3;
    let resistor = (10.0f64..1e4, share())
        .prop_map(|(ohm, by)| Part::Resistor(Resistor { resistance: within(ohm, by) }));
    let led = (1.5f64..9.0, 1e-3f64..0.03, 100.0f64..2e3, share(), share()).prop_map(
        |(forward, at, ohm, f, s)| {
            Part::Led(Led {
                forward: within(forward, f),
                at_current: Units::from_si(at),
                series: within(ohm, s),
            })
        },
    );
    let lamp = (6.0f64..24.0, 0.02f64..0.5, 1.0f64..15.0, 1e-3f64..0.05, share(), share())
        .prop_map(|(volt, ampere, inrush_ratio, warm_up, a, t)| {
            Part::Lamp(Lamp {
                rated_voltage: Units::from_si(volt),
                rated_current: within(ampere, a),
                inrush_ratio: within(inrush_ratio.max(1.5), t),
                warm_up: within(warm_up, t),
            })
        });
    let coil = (20.0f64..1e3, 0.01f64..2.0, -20.0f64..80.0, 0.0f64..60.0, share(), share())
        .prop_map(|(ohm, henry, coldest, span, r, l)| {
            Part::Coil(Coil {
                resistance: within(ohm, r),
                inductance: within(henry, l),
                temperature: Toleranced {
                    nominal: Units::from_si(coldest + 0.4 * span),
                    lower: Units::from_si(coldest),
                    upper: Units::from_si(coldest + span),
                },
                has_diode: true,
            })
        });
    let motor = (0.02f64..0.5, 1.5f64..6.0, 6.0f64..24.0, 1e-3f64..0.1, share(), share()).prop_map(
        |(run, ratio, volt, run_up, a, t)| {
            Part::Motor(Motor {
                start_current: within(run * ratio, a),
                run_current: within(run, a),
                at_voltage: Units::from_si(volt),
                run_up: within(run_up, t),
            })
        },
    );
    let measured = (0.01f64..1.0, 6.0f64..24.0, share()).prop_map(|(ampere, volt, by)| {
        Part::Measured(Measured {
            current: within(ampere, by),
            at_voltage: Units::from_si(volt),
            settled_after: Units::from_si(0.1),
        })
    });
    prop_oneof![resistor, led, lamp, coil, motor, measured]
}

fn any_circuit() -> impl Strategy<Value = Circuit> {
    any_part().prop_map(Circuit::from)
}

/// One load, or up to three in parallel.
fn any_load() -> impl Strategy<Value = Circuit> {
    prop::collection::vec(any_part(), 1..=3).prop_map(|parts| Circuit { parts })
}

fn all_of(load: &Circuit, volt: f64, by: f64, ohm: f64, after: f64) -> Circumstances<'_> {
    let input = |name, nominal: f64, lower, upper| Input { name, unit: "1", nominal, lower, upper };
    let voltage = input("voltage", volt, volt * (1.0 - by), volt * (1.0 + by));
    Circumstances::new(load, voltage, input("way", 0.0, 0.0, ohm), after)
}

/// Places in the unit cube that fill it evenly, the corners of most coordinates among them: each
/// coordinate of a row is 0, ½, 1 or anything between.
fn anywhere(count: usize) -> impl Strategy<Value = Vec<Vec<f64>>> {
    let place = prop_oneof![2 => Just(0.0), 2 => Just(1.0), 1 => Just(0.5), 2 => 0.0f64..=1.0];
    prop::collection::vec(prop::collection::vec(place, count), 40)
}

fn at(all: &Circumstances<'_>, places: &[f64]) -> Vec<f64> {
    let inputs = all.inputs().iter().zip(places);
    inputs.map(|(input, u)| input.lower + u * (input.upper - input.lower)).collect()
}

/// The most inputs: voltage, way, and three parts of four.
const MOST: usize = 2 + 3 * 4;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    /// Nothing that may be lies outside the window, and its ends may be: they are what the closed
    /// form gives at the corners that are told.
    #[test]
    fn no_combination_goes_beyond(
        load in any_load(), volt in 2.0f64..24.0, by in 0.0f64..0.2, ohm in 0.0f64..2.0,
        places in anywhere(MOST),
    ) {
        let all = all_of(&load, volt, by, ohm, f64::INFINITY);
        let [(lowest, at_lowest), (highest, at_highest)] =
            [End::Lowest, End::Highest].map(|end| all.extreme(end));
        for (current, x) in [(lowest, at_lowest), (highest, at_highest)] {
            prop_assert!((all.current(&x) / current - 1.0).abs() < 1e-9, "{x:?}");
            for (x, input) in x.iter().zip(all.inputs()) {
                prop_assert!((input.lower..=input.upper).contains(x), "{} {x}", input.name);
            }
        }
        let room = 1e-9 * highest;
        for place in places {
            let current = all.current(&at(&all, &place));
            prop_assert!(lowest - room <= current && current <= highest + room,
                "{current} is not within {lowest} and {highest}");
        }
    }

    /// Every corner of a single circuit, one by one: the extremes are among them, and none is
    /// beyond.
    #[test]
    fn the_extremes_are_those_of_all_corners(
        load in any_circuit(), volt in 2.0f64..24.0, by in 0.0f64..0.2, ohm in 0.0f64..2.0,
    ) {
        let all = all_of(&load, volt, by, ohm, f64::INFINITY);
        let count = all.inputs().len();
        let currents: Vec<f64> = (0..1u32 << count)
            .map(|corner| {
                let place: Vec<f64> =
                    (0..count).map(|i| f64::from((corner >> i) & 1)).collect();
                all.current(&at(&all, &place))
            })
            .collect();
        let least = currents.iter().copied().fold(f64::INFINITY, f64::min);
        let most = currents.iter().copied().fold(0.0, f64::max);
        prop_assert!((all.extreme(End::Lowest).0 / least - 1.0).abs() < 1e-9);
        prop_assert!((all.extreme(End::Highest).0 / most - 1.0).abs() < 1e-9);
    }

    /// While a current still moves as well; the voltage is looked at in steps, and between two of
    /// them a lamp may go beyond by a little.
    #[test]
    fn nothing_goes_beyond_on_the_way(
        load in any_load(), volt in 6.0f64..24.0, by in 0.0f64..0.2, ohm in 0.0f64..1.0,
        after in 0.0f64..0.1, places in anywhere(MOST),
    ) {
        let all = all_of(&load, volt, by, ohm, after);
        let [lowest, highest] = [End::Lowest, End::Highest].map(|end| all.extreme(end).0);
        let room = 1e-3 * highest;
        for place in places {
            let current = all.current(&at(&all, &place));
            prop_assert!(lowest - room <= current && current <= highest + room,
                "{current} is not within {lowest} and {highest}");
        }
    }
}
