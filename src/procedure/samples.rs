//! From a capture to its counts on one time base, and what they are in amperes or volts.

use super::channels::Channels;
use crate::link::capture::Captured;
use crate::measure::record::{Record, Trace};
use crate::measure::scale::{Ends, Scale};

/// The record of a capture. What a calibration says about a channel enters here: the line from counts
/// to corrected values, and a class that knows what the calibration leaves open.
pub fn record(channels: &Channels<'_>, captured: &Captured) -> Record {
    let preamble = &captured.preamble;
    let traces = preamble
        .columns
        .iter()
        .enumerate()
        .map(|(at, column)| {
            let correction = channels.correction(column.channel);
            let stated = Scale { zero: column.offset, per_count: column.scale };
            let [lowest, highest] = ends_in_counts(&stated, channels, column.channel);
            Trace {
                channel: column.channel,
                skew_us: column.skew_us,
                counts: captured
                    .column(at)
                    .map(|c| match c {
                        i16::MIN => lowest,
                        i16::MAX => highest,
                        counts => counts,
                    })
                    .collect(),
                scale: correction.map_or(stated, |c| c.of_scale(&stated)),
                ends: channels.ends(column.channel).unwrap_or(Ends::NONE),
                class: channels.class(column.channel),
            }
        })
        .collect();
    Record {
        first_us: preamble.first_us,
        interval_us: preamble.interval_us,
        average: preamble.average,
        trigger_us: (preamble.trigger_us != 0).then_some(preamble.trigger_us),
        traces,
    }
}

/// A point in which a conversion was cut off is marked by the lowest or the highest of all counts: it stands
/// at the end of its channel's range, which is these.
fn ends_in_counts(stated: &Scale, channels: &Channels<'_>, channel: u16) -> [i16; 2] {
    match channels.get(channel) {
        Some(d) => [d.minimum, d.maximum].map(|end| stated.counts_of(end).round() as i16),
        None => [i16::MIN, i16::MAX],
    }
}
