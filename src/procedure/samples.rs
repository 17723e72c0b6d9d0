//! From a capture's counts to values on one time base.

use crate::calibration::correction::{Correction, Corrections};
use crate::link::capture::Captured;
use crate::link::client::Jig;
use crate::measure::record::{ChannelClass, Record, Trace};
use crate::wire::channel::Description;

/// The record of a capture. What a calibration says about a channel enters here: corrected values,
/// and a class that knows what the calibration leaves open.
pub fn record(jig: &Jig, corrections: Option<&Corrections>, captured: &Captured) -> Record {
    let preamble = &captured.preamble;
    let width = preamble.columns.len().max(1);
    let traces = preamble
        .columns
        .iter()
        .enumerate()
        .map(|(at, column)| {
            let correction = corrections.and_then(|all| all.of(column.channel));
            let value = |count: i16| {
                let reading = column.offset + column.scale * f64::from(count);
                correction.map_or(reading, |c| c.correct(reading)) as f32
            };
            Trace {
                channel: column.channel,
                skew_us: column.skew_us,
                values: captured.counts.iter().skip(at).step_by(width).map(|&c| value(c)).collect(),
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
