//! From a capture to its counts on one time base, and what they are in amperes or volts.

use crate::calibration::correction::{Correction, Corrections};
use crate::link::capture::Captured;
use crate::link::client::Jig;
use crate::measure::channel_class::ChannelClass;
use crate::measure::record::{Record, Trace};
use crate::measure::scale::{End, Ends, Scale};
use crate::wire::channel::Description;

/// The record of a capture. What a calibration says about a channel enters here: the line from counts
/// to corrected values, and a class that knows what the calibration leaves open.
pub fn record(jig: &Jig, corrections: Option<&Corrections>, captured: &Captured) -> Record {
    let preamble = &captured.preamble;
    let traces = preamble
        .columns
        .iter()
        .enumerate()
        .map(|(at, column)| {
            let correction = corrections.and_then(|all| all.of(column.channel));
            let stated = Scale { zero: column.offset, per_count: column.scale };
            Trace {
                channel: column.channel,
                skew_us: column.skew_us,
                counts: captured.column(at).collect(),
                scale: correction.map_or(stated, |c| c.of_scale(&stated)),
                ends: jig.channel(column.channel).map_or(Ends::NONE, ends),
                class: class_with(jig, column.channel, correction),
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

/// What limits a channel, with what its calibration leaves open where it has one; nothing is known
/// of one that the jig does not describe.
pub fn class_with(jig: &Jig, channel: u16, correction: Option<&Correction>) -> ChannelClass {
    ChannelClass {
        corrected: correction.map(|c| c.left),
        ..jig.channel(channel).map(class).unwrap_or_default()
    }
}

/// Where a channel's samples are cut off.
fn ends(channel: &Description) -> Ends {
    Ends::of(&stated(channel), channel.minimum, channel.maximum)
}

/// The line from a channel's counts to values, as the jig states it.
fn stated(channel: &Description) -> Scale {
    Scale { zero: channel.offset, per_count: channel.scale }
}

/// The end of a channel's range at which a value stands that the jig has worked out itself.
pub fn end_of_reading(channel: &Description, reading: f64) -> Option<End> {
    ends(channel).touched(stated(channel).counts_of(reading))
}

/// What limits a channel before any calibration.
pub fn class(description: &Description) -> ChannelClass {
    ChannelClass {
        resolution: description.scale,
        gain: description.gain_limit,
        offset: description.offset_limit,
        linearity: description.linearity_limit,
        corrected: None,
    }
}
