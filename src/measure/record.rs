//! Samples on one time base.

/// What limits how well a channel is known before any calibration: half-widths of rectangular
/// distributions (GUM 4.3.7).
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct ChannelClass {
    /// Value of one count.
    pub resolution: f64,
    /// Relative gain error.
    pub gain: f64,
    /// Offset error, in the unit of the channel.
    pub offset: f64,
    /// Non-linearity, in the unit of the channel.
    pub linearity: f64,
}

/// One channel of a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// The jig's number of the channel.
    pub channel: u16,
    /// How long after the scan's time this channel was converted, in microseconds.
    pub skew_us: f64,
    /// The values, in amperes or volts.
    pub values: Vec<f32>,
    /// How well the channel is known.
    pub class: ChannelClass,
}

/// Channels sampled together.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Time of the first scan by the jig's clock, in microseconds.
    pub first_us: u64,
    /// Time between scans, in microseconds.
    pub interval_us: u32,
    /// How many conversions were averaged into one value.
    pub average: u16,
    /// Time of the trigger by the jig's clock, in microseconds.
    pub trigger_us: Option<u64>,
    /// The channels.
    pub traces: Vec<Trace>,
}

impl Record {
    /// The trace of one channel.
    pub fn trace(&self, channel: u16) -> Option<&Trace> {
        self.traces.iter().find(|t| t.channel == channel)
    }

    /// Time of a scan relative to the trigger (or to the first scan), in microseconds.
    pub fn time_us(&self, index: usize) -> f64 {
        let zero = self.trigger_us.unwrap_or(self.first_us);
        (self.first_us as f64 - zero as f64) + index as f64 * f64::from(self.interval_us)
    }
}
