//! What is known of a jig's channels: as it describes them, and what its calibration corrects.

use crate::calibration::correction::{Correction, Corrections};
use crate::measure::channel_class::ChannelClass;
use crate::measure::scale::{End, Ends, Scale};
use crate::wire::channel::{CLAMP_CURRENT, Description};

/// The channels of a jig.
#[derive(Clone, Copy, Debug)]
pub struct Channels<'a> {
    described: &'a [Description],
    corrections: Option<&'a Corrections>,
}

impl<'a> Channels<'a> {
    /// Channels as a jig describes them, with the corrections of its calibration.
    pub const fn new(described: &'a [Description], corrections: Option<&'a Corrections>) -> Self {
        Channels { described, corrections }
    }

    /// One channel, if the jig has it.
    pub fn get(&self, channel: u16) -> Option<&'a Description> {
        self.described.iter().find(|d| d.channel == channel)
    }

    /// Whether the jig has a channel.
    pub fn has(&self, channel: u16) -> bool {
        self.get(channel).is_some()
    }

    /// What corrects the readings, where the jig is calibrated.
    pub const fn corrections(&self) -> Option<&'a Corrections> {
        self.corrections
    }

    /// The correction of a channel, where it is calibrated.
    pub fn correction(&self, channel: u16) -> Option<&'a Correction> {
        self.corrections?.of(channel)
    }

    /// A value that the jig has worked out itself, corrected.
    pub fn corrected(&self, channel: u16, value: f64) -> f64 {
        self.correction(channel).map_or(value, |c| c.correct(value))
    }

    /// The class of a channel, with what its calibration leaves open where it has one; nothing is
    /// known of one that the jig does not describe.
    pub fn class(&self, channel: u16) -> ChannelClass {
        ChannelClass {
            corrected: self.correction(channel).map(|c| c.left),
            ..self.get(channel).map(class).unwrap_or_default()
        }
    }

    /// Where a channel's samples are cut off.
    pub fn ends(&self, channel: u16) -> Option<Ends> {
        self.get(channel).map(|d| Ends::of(&stated(d), d.minimum, d.maximum))
    }

    /// The end of a channel's range at which a value stands that the jig has worked out itself, before
    /// any correction.
    pub fn end_of_reading(&self, channel: u16, reading: f64) -> Option<End> {
        self.ends(channel)?.touched(stated(self.get(channel)?).counts_of(reading))
    }
}

/// The line from a channel's counts to values, as the jig states it.
fn stated(channel: &Description) -> Scale {
    Scale { zero: channel.offset, per_count: channel.scale }
}

/// So much of a clamp current's offset comes and goes with the voltage at its shunt: on the large jig at
/// 12 V 0.11 mA that flow into the amplifier and 0.24 mA of its common mode, of 0.95 mA
/// (`docs/jig-analogue.md`).
const WITH_VOLTAGE: f64 = 0.37;

/// What limits a channel before any calibration.
pub fn class(description: &Description) -> ChannelClass {
    let is_clamp = (CLAMP_CURRENT..CLAMP_CURRENT + 8).contains(&description.channel);
    ChannelClass {
        with_voltage: if is_clamp { WITH_VOLTAGE * description.offset_limit } else { 0.0 },
        resolution: description.scale,
        gain: description.gain_limit,
        offset: description.offset_limit,
        linearity: description.linearity_limit,
        corrected: None,
    }
}
