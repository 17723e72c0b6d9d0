//! How the jig describes one of its channels.

use super::data::Data;
use super::error::Error;
use super::parameters::Parameters;
use super::words::by_word;
use super::writer::{Sink, Writer};
use core::fmt;

/// Feed voltage, on the direct-current side of the feed bridge.
pub const FEED_VOLTAGE: u16 = 1;
/// Feed current, on the direct-current side of the feed bridge: one sign, whatever the pulses do.
pub const FEED_CURRENT: u16 = 2;
/// Voltage of the load supply.
pub const LOAD_VOLTAGE: u16 = 3;
/// Total current of the load supply.
pub const LOAD_TOTAL: u16 = 4;
/// First of the load currents at 1a … 4b (101–108).
pub const CLAMP_CURRENT: u16 = 101;
/// First of the contact closers 1a … 4b (201–208).
pub const CONTACT_CLOSER: u16 = 201;
/// First of the load switches, in series with each real load (301–308).
pub const LOAD_SWITCH: u16 = 301;
/// First of the bypasses that drive a clamp's load past the module (311–318).
pub const BYPASS: u16 = 311;
/// First of the jig's own loads, one a clamp (321–328). Their descriptions state the lowest and the
/// highest resistance that the resistor may have, in ohms, as minimum and maximum.
pub const JIG_LOAD: u16 = 321;
/// First of the clamp voltages 1a … 4b (401–408).
pub const CLAMP_VOLTAGE: u16 = 401;
/// First of the optional lamp sensors.
pub const LAMP_SENSOR: u16 = 501;
/// Start button or foot switch.
pub const START_BUTTON: u16 = 601;
/// Signal light.
pub const SIGNAL_LIGHT: u16 = 611;
/// Sounder.
pub const SOUNDER: u16 = 612;
/// Resistance between the feed wires, with everything off.
pub const FEED_RESISTANCE: u16 = 701;
/// Resistance between the feed and the commons.
pub const FEED_TO_COMMONS: u16 = 702;
/// Resistance between common and common.
pub const COMMON_TO_COMMON: u16 = 703;

/// What a channel is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Samples a voltage; values in volts.
    Voltage,
    /// Samples a current; values in amperes.
    Current,
    /// Measures a resistance on request only; values in ohms.
    Resistance,
    /// A switch that opens and closes.
    Switch,
    /// A digital input, 0 or 1.
    Input,
}

by_word! {
    Kind: [
        "VOLTage" Kind::Voltage,
        "CURRent" Kind::Current,
        "RESistance" Kind::Resistance,
        "SWITch" Kind::Switch,
        "INPut" Kind::Input,
    ]
}

/// One channel as the jig describes it.
///
/// `value = offset + scale × counts`, in the unit of its kind. The three limits are the jig's
/// *class*: half-widths within which an uncalibrated channel lies (rectangular, GUM 4.3.7).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Description {
    /// The channel's number.
    pub channel: u16,
    /// What it is.
    pub kind: Kind,
    /// Lowest value that it reads; of a jig load the lowest resistance it may have, in ohms.
    pub minimum: f64,
    /// Highest value that it reads; of a jig load the highest resistance it may have, in ohms.
    pub maximum: f64,
    /// Value of one count.
    pub scale: f64,
    /// Value of zero counts.
    pub offset: f64,
    /// Class: relative limit of the gain error (0.005 is 0.5 %).
    pub gain_limit: f64,
    /// Class: limit of the offset error, in the unit of the kind.
    pub offset_limit: f64,
    /// Class: limit of the non-linearity, in the unit of the kind.
    pub linearity_limit: f64,
    /// Shortest time between two conversions, in microseconds.
    pub interval_us: u32,
    /// How long after the scan's time this channel is converted, in microseconds.
    pub skew_us: f64,
}

impl Data<'_> for Description {
    /// Writes the answer to `SYSTem:CHANnel:DESCribe?`:
    /// `<channel>,<kind>,<min>,<max>,<scale>,<offset>,<gain limit>,<offset limit>,<linearity
    /// limit>,<interval us>,<skew us>`.
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        self.channel.write(writer)?;
        self.kind.write(writer)?;
        self.minimum.write(writer)?;
        self.maximum.write(writer)?;
        self.scale.write(writer)?;
        self.offset.write(writer)?;
        self.gain_limit.write(writer)?;
        self.offset_limit.write(writer)?;
        self.linearity_limit.write(writer)?;
        self.interval_us.write(writer)?;
        self.skew_us.write(writer)
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        Ok(Description {
            channel: Data::read(from)?,
            kind: Data::read(from)?,
            minimum: Data::read(from)?,
            maximum: Data::read(from)?,
            scale: Data::read(from)?,
            offset: Data::read(from)?,
            gain_limit: Data::read(from)?,
            offset_limit: Data::read(from)?,
            linearity_limit: Data::read(from)?,
            interval_us: Data::read(from)?,
            skew_us: Data::read(from)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::answers::Answers;

    fn read(text: &str) -> Result<Description, Error> {
        Answers::only(text.as_bytes())
    }

    const LAMP: Description = Description {
        channel: 101,
        kind: Kind::Current,
        minimum: -0.1,
        maximum: 2.0,
        scale: 6.25e-5,
        offset: 0.0,
        gain_limit: 0.005,
        offset_limit: 1e-3,
        linearity_limit: 2e-4,
        interval_us: 20,
        skew_us: 1.5,
    };

    #[test]
    fn reads_as_documented() {
        let text = "101,CURR,-1.0E-1,2.0E+0,6.25E-5,0.0E+0,5.0E-3,1.0E-3,2.0E-4,20,1.5E+0";
        let mut written = String::new();
        LAMP.write(&mut Writer::new(&mut written)).expect("a growing sink takes all");
        assert_eq!(written, text);
        assert_eq!(read(text), Ok(LAMP));
        assert!(read(&text[..60]).is_err(), "cut short");
        assert!(read(&format!("{text},1")).is_err(), "one too many");
    }
}
