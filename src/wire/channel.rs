//! How the jig describes one of its channels.

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
    /// Lowest value that it reads.
    pub minimum: f64,
    /// Highest value that it reads.
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
