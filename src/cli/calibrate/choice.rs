//! Which channels are calibrated, and where their current flows.

use crate::cli::command_result::{CommandError, bad_input};
use crate::procedure::bench::Bench;
use crate::procedure::references::Place;
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, LOAD_TOTAL};
use core::str::FromStr;

/// A current channel, as the operator names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChannelName(pub u16);

impl FromStr for ChannelName {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let clamp = Clamp::ALL.into_iter().find(|c| c.to_string() == text);
        let number = match (text, clamp) {
            ("feed", _) => Some(FEED_CURRENT),
            ("total", _) => Some(LOAD_TOTAL),
            (_, Some(clamp)) => Some(clamp.channel(CLAMP_CURRENT)),
            _ => text.parse().ok().filter(|&n| is_current(n)),
        };
        number.map(ChannelName).ok_or_else(|| {
            "a channel is feed, total, a clamp such as 1a, or its number (2, 4, 101 to 108)".into()
        })
    }
}

const fn is_current(channel: u16) -> bool {
    channel == FEED_CURRENT
        || channel == LOAD_TOTAL
        || (channel >= CLAMP_CURRENT && channel < CLAMP_CURRENT + 8)
}

/// A place where resistors are connected, and the channels that are calibrated by them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Target {
    /// The place.
    pub place: Place,
    /// The channels; all of them carry the same current.
    pub channels: Vec<u16>,
}

/// The places to go to, loads first: for the feed the module comes off. Without a choice, all that
/// the jig has.
///
/// # Errors
/// When the jig lacks a channel.
pub fn targets(bench: &Bench<'_>, chosen: &[ChannelName]) -> Result<Vec<Target>, CommandError> {
    let wanted = |channel: u16| {
        if chosen.is_empty() { bench.has(channel) } else { chosen.contains(&ChannelName(channel)) }
    };
    let mut targets: Vec<Target> = Clamp::ALL
        .into_iter()
        .filter(|c| wanted(c.channel(CLAMP_CURRENT)))
        .map(|c| Target { place: Place::Clamp(c), channels: vec![c.channel(CLAMP_CURRENT)] })
        .collect();
    if wanted(LOAD_TOTAL) {
        // The total flows through any clamp that alone is on.
        match targets.first_mut() {
            Some(first) => first.channels.push(LOAD_TOTAL),
            None => targets
                .push(Target { place: Place::Clamp(Clamp::ALL[0]), channels: vec![LOAD_TOTAL] }),
        }
    }
    if wanted(FEED_CURRENT) {
        targets.push(Target { place: Place::Feed, channels: vec![FEED_CURRENT] });
    }
    for target in &targets {
        bench.check_place(target.place)?;
        if let Some(channel) = target.channels.iter().find(|&&c| !bench.has(c)) {
            return Err(bad_input(format!("this jig has no channel {channel}")));
        }
    }
    if targets.is_empty() {
        return Err(bad_input("this jig has no current channel that could be calibrated"));
    }
    Ok(targets)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn channels_have_names() {
        for (text, number) in [("feed", 2), ("total", 4), ("1a", 101), ("4b", 108), ("103", 103)] {
            assert_eq!(text.parse(), Ok(ChannelName(number)));
        }
        for text in ["", "1", "109", "401", "5a", "all"] {
            assert!(text.parse::<ChannelName>().is_err(), "{text}");
        }
    }
}
