//! From what flows and stands on the bench to what the converters of the jig see: the analogue part of
//! the jig's board, as docs/jig.md has it. Written from the circuit, not from the firmware.

use musterbench::simulated_bench::World;

/// A step of a converter, volts.
const STEP_V: f64 = 4.096 / 65_536.0;
/// What lifts the amplifiers' outputs and the clamps' dividers, volts.
const LIFT_V: f64 = 0.256;
/// The voltage of the resistance test, and the resistor that it goes through.
const TEST: (f64, f64) = (5.0, 500.0);
/// Counts as no connection.
const OPEN_OHM: f64 = 1e9;

/// Where the test voltage goes, by the bits of the shift registers.
const TEST_BITS: [(u32, Test); 4] =
    [(34, Test::Feed), (35, Test::FeedToCommons), (36, Test::Commons), (37, Test::Commons)];

/// What a resistance is measured between.
#[derive(Clone, Copy, Debug)]
enum Test {
    Feed,
    FeedToCommons,
    Commons,
}

/// The errors of one very jig: a share of the class that it states, the same for each run.
fn error(channel: usize, limit: f64) -> f64 {
    // A fixed spread between -0.8 and 0.8 of the limit.
    limit * 0.8 * (2.399_963 * (channel as f64 + 1.0)).sin()
}

/// Steps of a current through a shunt of `ohm` behind an amplifier.
fn current(ampere: f64, ohm: f64, gain: f64, channel: usize) -> f64 {
    let gain = gain * (1.0 + error(channel, 0.003));
    // The amplifier's offset is taken off at boot; its output cannot fall below 50 mV.
    let volt = (ampere * ohm + error(channel, 15e-6)) * gain + LIFT_V;
    volt.max(0.05) / STEP_V
}

/// Steps of a voltage over a sixth, from a divider that ends at `foot_v`.
fn voltage(volt: f64, foot_v: f64, channel: usize) -> f64 {
    let share = 1.0 / 6.0 * (1.0 + error(channel, 0.0006));
    ((volt * share + foot_v * 5.0 / 6.0) / STEP_V) + error(channel, 6.0)
}

/// What the three converters see at one of their inputs, in steps.
pub fn input(world: &World, switches: u64, input: usize) -> [f64; 3] {
    let (feed, loads) = (&world.feed, &world.loads);
    if input < 4 {
        let [a, b] = [0, 1].map(|side| {
            let clamp = 2 * input + side;
            current(loads.clamp_a(clamp), 0.05, 20.0, clamp)
        });
        let z = match input {
            0 => voltage(feed.feed_v(), 0.0, 20),
            1 => current(feed.feed_a(), 0.05, 50.0, 21),
            2 => voltage(loads.bus_v(), 0.0, 22),
            _ => current(loads.total_a(), 0.01, 50.0, 23),
        };
        return [a, b, z];
    }
    let [a, b] = [0, 1].map(|side| {
        let clamp = 2 * (input - 4) + side;
        voltage(loads.clamp_v(clamp), LIFT_V, 8 + clamp)
    });
    let z = match input {
        4 => test_v(world, switches) * 0.8 / STEP_V,
        5 => TEST.0 * 0.8 / STEP_V,
        6 => 32_768.0,
        _ => 0.0,
    };
    [a, b, z]
}

/// Voltage behind the resistor of the resistance test.
fn test_v(world: &World, switches: u64) -> f64 {
    let on: Vec<Test> =
        TEST_BITS.iter().filter(|(bit, _)| switches >> bit & 1 == 1).map(|t| t.1).collect();
    let ohm = match on[..] {
        [] => OPEN_OHM,
        [Test::Feed] => world.feed.resistance_ohm(),
        [Test::FeedToCommons] => world.insulation.feed_to_commons_ohm(),
        [Test::Commons] => world.insulation.common_to_common_ohm(),
        _ => panic!("the test voltage goes to two places: {on:?}"),
    };
    let ohm = ohm.min(OPEN_OHM);
    TEST.0 * ohm / (ohm + TEST.1)
}
