//! The channels of the simulated jig: a small controller with an external converter.

use super::parts::{JIG_LOAD_OHM, JIG_LOAD_TOLERANCE};
use crate::wire::channel::{
    BYPASS, CLAMP_CURRENT, CLAMP_VOLTAGE, COMMON_TO_COMMON, CONTACT_CLOSER, Description,
    FEED_CURRENT, FEED_RESISTANCE, FEED_TO_COMMONS, FEED_VOLTAGE, JIG_LOAD, Kind, LOAD_SWITCH,
    LOAD_TOTAL, LOAD_VOLTAGE, SIGNAL_LIGHT, SOUNDER, START_BUTTON,
};

/// Shortest time between two conversions of a channel, microseconds: ten thousand scans a second
/// of the dozen channels of the widest scan.
const INTERVAL_US: u32 = 100;
/// The converter takes four inputs at a time; each group comes so much later, microseconds.
const GROUP_US: f64 = 4.0;

/// What stands for one kind of channel in the table below.
struct Class {
    kind: Kind,
    minimum: f64,
    maximum: f64,
    scale: f64,
    gain_limit: f64,
    offset_limit: f64,
    linearity_limit: f64,
}

const SUPPLY_VOLTAGE: Class = Class {
    kind: Kind::Voltage,
    minimum: 0.0,
    maximum: 24.0,
    scale: 0.001,
    gain_limit: 0.001,
    offset_limit: 0.004,
    linearity_limit: 0.002,
};
const FEED_AMPERES: Class = Class {
    kind: Kind::Current,
    minimum: -0.05,
    maximum: 1.5,
    scale: 0.000_05,
    gain_limit: 0.005,
    offset_limit: 0.000_3,
    linearity_limit: 0.000_15,
};
const TOTAL_AMPERES: Class = Class {
    kind: Kind::Current,
    minimum: -0.2,
    maximum: 6.0,
    scale: 0.000_2,
    gain_limit: 0.005,
    offset_limit: 0.001,
    linearity_limit: 0.000_5,
};
const CLAMP_AMPERES: Class = Class {
    kind: Kind::Current,
    minimum: -0.2,
    maximum: 2.5,
    scale: 0.000_1,
    gain_limit: 0.005,
    offset_limit: 0.000_5,
    linearity_limit: 0.000_2,
};
/// The highest voltage at a clamp, volts.
pub const HIGHEST_CLAMP_V: f64 = 20.0;
const CLAMP_VOLTS: Class = Class { minimum: -1.0, maximum: HIGHEST_CLAMP_V, ..SUPPLY_VOLTAGE };
const OHMS: Class = Class {
    kind: Kind::Resistance,
    minimum: 0.0,
    maximum: 30_000.0,
    scale: 1.0,
    gain_limit: 0.02,
    offset_limit: 1.0,
    linearity_limit: 5.0,
};
const SWITCH: Class = Class {
    kind: Kind::Switch,
    minimum: 0.0,
    maximum: 1.0,
    scale: 1.0,
    gain_limit: 0.0,
    offset_limit: 0.0,
    linearity_limit: 0.0,
};
const INPUT: Class = Class { kind: Kind::Input, ..SWITCH };

fn describe(channel: u16, class: &Class, group: Option<u16>) -> Description {
    Description {
        channel,
        kind: class.kind,
        minimum: class.minimum,
        maximum: class.maximum,
        scale: class.scale,
        offset: 0.0,
        gain_limit: class.gain_limit,
        offset_limit: class.offset_limit,
        linearity_limit: class.linearity_limit,
        interval_us: if group.is_some() { INTERVAL_US } else { 0 },
        skew_us: group.map_or(0.0, |g| f64::from(g) * GROUP_US),
    }
}

/// All channels, in rising order.
pub fn describe_all() -> Vec<Description> {
    let mut all = vec![
        describe(FEED_VOLTAGE, &SUPPLY_VOLTAGE, Some(0)),
        describe(FEED_CURRENT, &FEED_AMPERES, Some(0)),
        describe(LOAD_VOLTAGE, &SUPPLY_VOLTAGE, Some(0)),
        describe(LOAD_TOTAL, &TOTAL_AMPERES, Some(0)),
    ];
    // Currents and voltages of one output are converted together: a and b at the same instant.
    all.extend((0..8).map(|i| describe(CLAMP_CURRENT + i, &CLAMP_AMPERES, Some(1 + i / 2))));
    for first in [CONTACT_CLOSER, LOAD_SWITCH, BYPASS] {
        all.extend((0..8).map(|i| describe(first + i, &SWITCH, None)));
    }
    let jig_load = Class {
        minimum: JIG_LOAD_OHM * (1.0 - JIG_LOAD_TOLERANCE),
        maximum: JIG_LOAD_OHM * (1.0 + JIG_LOAD_TOLERANCE),
        ..SWITCH
    };
    all.extend((0..8).map(|i| describe(JIG_LOAD + i, &jig_load, None)));
    all.extend((0..8).map(|i| describe(CLAMP_VOLTAGE + i, &CLAMP_VOLTS, Some(1 + i / 2))));
    all.push(describe(START_BUTTON, &INPUT, None));
    all.push(describe(SIGNAL_LIGHT, &SWITCH, None));
    all.push(describe(SOUNDER, &SWITCH, None));
    for channel in [FEED_RESISTANCE, FEED_TO_COMMONS, COMMON_TO_COMMON] {
        all.push(describe(channel, &OHMS, None));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rise_and_fit_into_counts() {
        let all = describe_all();
        assert!(all.windows(2).all(|w| w[0].channel < w[1].channel));
        for d in &all {
            for value in [d.minimum, d.maximum] {
                let counts = (value - d.offset) / d.scale;
                assert!((-32_768.0..=32_767.0).contains(&counts), "{}", d.channel);
            }
        }
    }

    #[test]
    fn both_contacts_of_an_output_are_sampled_together() {
        let all = describe_all();
        let skew = |n: u16| all.iter().find(|d| d.channel == n).unwrap().skew_us;
        for first in [CLAMP_CURRENT, CLAMP_VOLTAGE] {
            for k in 0..4 {
                assert_eq!(skew(first + 2 * k), skew(first + 2 * k + 1));
            }
        }
    }
}
