//! When a capture was taken, of what, and by which conversions.

use musterbench::measure::record::Record;
use musterbench::wire::channel::{FEED_CURRENT, LOAD_VOLTAGE};

/// The conversions of one channel in a record.
#[derive(Clone, Copy, Debug)]
pub struct Conversions {
    pub first_us: u64,
    pub every_us: u64,
    pub count: u64,
    /// How many make a point.
    pub average: u64,
}

impl Conversions {
    /// Whether one lies in a stretch of time, its end excluded.
    pub fn any_in(&self, from_us: u64, to_us: u64) -> bool {
        let next = from_us.saturating_sub(self.first_us).div_ceil(self.every_us);
        next < self.count && self.first_us + next * self.every_us < to_us
    }
}

/// When a capture was taken, and of what.
#[derive(Clone, Debug)]
pub struct Window {
    pub first_us: u64,
    pub interval_us: u64,
    pub average: u64,
    points: u64,
    is_triggered: bool,
    /// Each with its skew, microseconds.
    pub channels: Vec<(u16, f64)>,
    /// Voltage of the load supply as the jig saw it: over all of it, and over the end.
    pub supply: Option<[f64; 2]>,
}

impl Window {
    pub fn of(record: &Record) -> Self {
        let points = record.scans();
        let supply = record.trace(LOAD_VOLTAGE).and_then(|t| {
            let end = points - settled(points as u64) as usize;
            Some([t.mean(..)?.value, t.mean(end..)?.value])
        });
        Window {
            first_us: record.first_us,
            interval_us: record.interval_us.into(),
            average: record.average.max(1).into(),
            points: points as u64,
            is_triggered: record.trigger_us.is_some(),
            channels: record.traces.iter().map(|t| (t.channel, t.skew_us)).collect(),
            supply,
        }
    }

    /// Whether it is one of the feed current alone, at rest.
    pub fn is_at_rest(&self) -> bool {
        self.channels.len() == 1 && self.channels[0].0 == FEED_CURRENT && self.interval_us == 1_000
    }

    /// Whether it waited for a change, and shows it point by point.
    pub fn is_triggered_change(&self) -> bool {
        self.is_triggered && self.interval_us < 1_000
    }

    /// From before its first conversion to after its last.
    pub fn whole(&self) -> (u64, u64) {
        let half = self.interval_us / 2;
        (self.first_us.saturating_sub(half), self.first_us + self.points * self.interval_us - half)
    }

    /// Its end, over which settled values are taken.
    pub fn settled(&self) -> (u64, u64) {
        let (_, end_us) = self.whole();
        (end_us - settled(self.points) * self.interval_us, end_us)
    }

    /// The conversions of a channel.
    pub fn conversions(&self, channel: u16) -> Option<Conversions> {
        let skew_us = self.channels.iter().find(|c| c.0 == channel)?.1;
        let every_us = self.interval_us / self.average;
        let first_us = self.first_us - (self.average - 1) * every_us / 2 + skew_us as u64;
        let (count, average) = (self.points * self.average, self.average);
        Some(Conversions { first_us, every_us, count, average })
    }
}

/// How many points at the end of so many are settled: 15 %, 100 at least.
fn settled(points: u64) -> u64 {
    ((points as f64 * 0.15) as u64).max(100).min(points)
}
