//! How the jig describes one of its channels.

use super::error::Error;
use super::number::Unit;
use super::parameters::Parameters;
use super::response::{Response, Sink};
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

impl Kind {
    /// The words for the kinds.
    pub const WORDS: [(&'static str, Kind); 5] = [
        ("VOLTage", Kind::Voltage),
        ("CURRent", Kind::Current),
        ("RESistance", Kind::Resistance),
        ("SWITch", Kind::Switch),
        ("INPut", Kind::Input),
    ];

    /// The word for this kind.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize].0
    }
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

impl Description {
    /// Writes the description as the answer to `SYSTem:CHANnel:DESCribe?`:
    /// `<channel>,<kind>,<min>,<max>,<scale>,<offset>,<gain limit>,<offset limit>,<linearity
    /// limit>,<interval us>,<skew us>`.
    pub fn write(&self, response: &mut Response<'_, impl Sink>) -> fmt::Result {
        response.integer(self.channel)?;
        response.keyword(self.kind.word())?;
        for value in [
            self.minimum,
            self.maximum,
            self.scale,
            self.offset,
            self.gain_limit,
            self.offset_limit,
            self.linearity_limit,
        ] {
            response.number(value)?;
        }
        response.integer(self.interval_us)?;
        response.number(self.skew_us)
    }

    /// Reads a description back.
    pub fn parse(text: &[u8]) -> Result<Self, Error> {
        let mut fields = Parameters::read(text)?;
        let channel = fields.integer(0..=u16::MAX.into())? as u16;
        let kind = fields.keyword(&Kind::WORDS)?;
        let mut number = || fields.number(Unit::None);
        let description = Description {
            channel,
            kind,
            minimum: number()?,
            maximum: number()?,
            scale: number()?,
            offset: number()?,
            gain_limit: number()?,
            offset_limit: number()?,
            linearity_limit: number()?,
            interval_us: fields.integer(0..=u32::MAX.into())? as u32,
            skew_us: fields.number(Unit::None)?,
        };
        fields.finish()?;
        Ok(description)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written(description: &Description) -> Vec<u8> {
        let mut text = Vec::new();
        description.write(&mut Response::new(&mut text)).expect("a growing sink takes all");
        text
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
        assert_eq!(String::from_utf8(written(&LAMP)).as_deref(), Ok(text));
        assert_eq!(Description::parse(text.as_bytes()), Ok(LAMP));
        assert!(Description::parse(&text.as_bytes()[..60]).is_err(), "cut short");
        assert!(Description::parse(format!("{text},1").as_bytes()).is_err(), "one too many");
    }

    #[test]
    fn kinds_know_their_words() {
        for (word, kind) in Kind::WORDS {
            assert_eq!(kind.word(), word);
        }
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back(
            channel: u16,
            kind in 0..Kind::WORDS.len(),
            numbers in prop::array::uniform8(prop::num::f64::NORMAL),
            interval_us: u32,
        ) {
            let [minimum, maximum, scale, offset, gain_limit, offset_limit, linearity_limit, skew_us] =
                numbers;
            let kind = Kind::WORDS[kind].1;
            let description = Description {
                channel, kind, minimum, maximum, scale, offset, gain_limit, offset_limit,
                linearity_limit, interval_us, skew_us,
            };
            prop_assert_eq!(Description::parse(&written(&description)), Ok(description));
        }
    }
}
