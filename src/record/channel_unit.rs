//! The units of what channels tell.

use crate::wire::channel::{
    CLAMP_CURRENT, CLAMP_VOLTAGE, COMMON_TO_COMMON, FEED_CURRENT, FEED_RESISTANCE, FEED_TO_COMMONS,
    FEED_VOLTAGE, LOAD_TOTAL, LOAD_VOLTAGE,
};

/// Outputs have eight clamps.
const CLAMPS: u16 = 8;

/// The unit of a channel's values; 1 where it is a plain number.
pub fn unit_of(channel: u16) -> &'static str {
    let is_clamp = |first: u16| (first..first + CLAMPS).contains(&channel);
    match channel {
        FEED_CURRENT | LOAD_TOTAL => "A",
        FEED_VOLTAGE | LOAD_VOLTAGE => "V",
        FEED_RESISTANCE | FEED_TO_COMMONS | COMMON_TO_COMMON => "ohm",
        _ if is_clamp(CLAMP_CURRENT) => "A",
        _ if is_clamp(CLAMP_VOLTAGE) => "V",
        _ => "1",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_channel_that_a_run_samples_has_its_unit() {
        let all = [(1, "V"), (2, "A"), (3, "V"), (4, "A"), (101, "A"), (108, "A"), (109, "1")];
        for (channel, unit) in all.into_iter().chain([(401, "V"), (408, "V"), (501, "1")]) {
            assert_eq!(unit_of(channel), unit, "{channel}");
        }
    }
}
