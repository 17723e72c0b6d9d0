//! A channel as people call it, with the jig's number beside.

use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, LOAD_TOTAL};

/// `Clamp 1a (channel 101)`, as `calibrate --channels 1a` calls it.
pub fn channel_name(channel: u16) -> String {
    match channel {
        FEED_CURRENT => format!("Feed (channel {channel})"),
        LOAD_TOTAL => format!("Total (channel {channel})"),
        _ => match Clamp::ALL.iter().find(|clamp| clamp.channel(CLAMP_CURRENT) == channel) {
            Some(clamp) => format!("Clamp {clamp} (channel {channel})"),
            None => format!("Channel {channel}"),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn channels_have_the_names_that_people_give() {
        for (channel, name) in [
            (2, "Feed (channel 2)"),
            (4, "Total (channel 4)"),
            (101, "Clamp 1a (channel 101)"),
            (108, "Clamp 4b (channel 108)"),
            (7, "Channel 7"),
        ] {
            assert_eq!(channel_name(channel), name);
        }
    }
}
