//! How the jig describes one of its channels.

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
