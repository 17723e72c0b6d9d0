//! Samples on one time base, as the converter's counts.

use super::channel_class::ChannelClass;
use super::mean::Mean;
use super::sample::{Sample, extremes};
use super::scale::{End, Ends, Scale};
use core::ops::RangeBounds;

/// One channel of a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// The jig's number of the channel.
    pub channel: u16,
    /// How long after the scan's time this channel was converted, in microseconds.
    pub skew_us: f64,
    /// The samples.
    pub counts: Vec<i16>,
    /// What they are in amperes or volts, corrected where the channel is calibrated.
    pub scale: Scale,
    /// Where they are cut off.
    pub ends: Ends,
    /// How well the channel is known.
    pub class: ChannelClass,
}

impl Trace {
    /// The value of a scan.
    pub fn value(&self, scan: usize) -> Option<f64> {
        self.counts.get(scan).map(|count| self.scale.value(count.value()))
    }

    /// The counts of some scans; `None` where there are not as many.
    pub fn part(&self, scans: impl RangeBounds<usize>) -> Option<&[i16]> {
        self.counts.get((scans.start_bound().cloned(), scans.end_bound().cloned()))
    }

    /// The mean of some scans, as a value; `None` for fewer than two.
    pub fn mean(&self, scans: impl RangeBounds<usize>) -> Option<Mean> {
        Mean::of(self.part(scans)?).map(|mean| mean.on(&self.scale))
    }

    /// The highest value.
    pub fn highest(&self) -> Option<f64> {
        extremes(&self.counts).map(|(_, high)| self.scale.value(high.value()))
    }

    /// The end of the range at which some scans stand; the first of them tells.
    pub fn end_touched(&self, scans: impl RangeBounds<usize>) -> Option<End> {
        let counts = self.part(scans)?;
        let (low, high) = extremes(counts)?;
        // Mostly none does: that is told at once.
        self.ends.touched(low.value()).or(self.ends.touched(high.value()))?;
        counts.iter().find_map(|count| self.ends.touched(count.value()))
    }

    /// The counts as numbers that can be averaged.
    pub fn numbers(&self) -> Vec<f32> {
        self.counts.iter().map(|&count| f32::from(count)).collect()
    }
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

    /// Whether a channel is cut off in some scan.
    pub fn is_cut_off(&self, channel: u16) -> bool {
        self.trace(channel).is_some_and(|t| t.end_touched(..).is_some())
    }

    /// How many scans there are.
    pub fn scans(&self) -> usize {
        self.traces.first().map_or(0, |t| t.counts.len())
    }

    /// Time of a scan relative to the trigger (or to the first scan), in microseconds.
    pub fn time_us(&self, index: usize) -> f64 {
        let zero = self.trigger_us.unwrap_or(self.first_us);
        (self.first_us as f64 - zero as f64) + index as f64 * f64::from(self.interval_us)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trace(counts: Vec<i16>) -> Trace {
        let stated = Scale { zero: 0.0, per_count: 1e-4 };
        Trace {
            channel: 101,
            skew_us: 0.0,
            counts,
            scale: stated.corrected(-0.003, 0.98),
            ends: Ends::of(&stated, -0.2, 2.5),
            class: ChannelClass::default(),
        }
    }

    /// A calibration moves values, so the end of the range lies elsewhere among them; a sample that
    /// stands there is cut off all the same.
    #[test]
    fn what_is_cut_off_is_seen_on_the_counts() {
        let cut = trace(vec![20_000, 24_999, 25_000, -2_000]);
        assert!(cut.value(2).unwrap() < 2.45);
        assert_eq!(cut.end_touched(..), Some(End::Top));
        assert_eq!(cut.end_touched(3..), Some(End::Bottom));
        assert_eq!(cut.end_touched(..1), None);
        assert_eq!(cut.end_touched(2..9), None);
    }

    #[test]
    fn a_mean_is_converted_once() {
        let mean = trace(vec![9_999, 10_001, 10_000, 10_000]).mean(..).unwrap();
        assert!((mean.value - (-0.003 + 0.98)).abs() < 1e-12);
        assert!((mean.deviation - 0.98e-4 * (2.0f64 / 3.0).sqrt()).abs() < 1e-12);
    }
}
