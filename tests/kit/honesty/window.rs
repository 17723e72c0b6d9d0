//! When a capture was taken, and of what.

use musterbench::measure::record::Record;
use musterbench::wire::channel::{FEED_CURRENT, LOAD_VOLTAGE};

/// When a capture was taken, and of what.
#[derive(Clone, Debug)]
pub struct Window {
    pub first_us: u64,
    pub interval_us: u64,
    /// From the middle of a point to its first conversion, or its last.
    half_us: u64,
    points: u64,
    is_triggered: bool,
    pub channels: Vec<u16>,
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
            half_us: half_us(record),
            points: points as u64,
            is_triggered: record.trigger_us.is_some(),
            channels: record.traces.iter().map(|t| t.channel).collect(),
            supply,
        }
    }

    /// Whether it is one of the feed current alone, at rest.
    pub fn is_at_rest(&self) -> bool {
        self.channels.len() == 1 && self.channels[0] == FEED_CURRENT && self.interval_us == 1_000
    }

    /// Whether it waited for a change, and shows it point by point.
    pub fn is_triggered_change(&self) -> bool {
        self.is_triggered && self.interval_us < 1_000
    }

    /// From its first conversion to its last.
    pub fn whole(&self) -> (u64, u64) {
        self.from(0)
    }

    /// Its end, over which settled values are taken.
    pub fn settled(&self) -> (u64, u64) {
        self.from(self.points - settled(self.points))
    }

    fn from(&self, point: u64) -> (u64, u64) {
        let at = |point: u64| self.first_us + point * self.interval_us;
        (at(point).saturating_sub(self.half_us), at(self.points.saturating_sub(1)) + self.half_us)
    }
}

/// A point is the mean of conversions that are spread over its interval; what is shown of it lies in their middle.
fn half_us(record: &Record) -> u64 {
    let average = u64::from(record.average.max(1));
    u64::from(record.interval_us) * (average - 1) / (2 * average)
}

/// How many points at the end of so many are settled: 15 %, 100 at least.
fn settled(points: u64) -> u64 {
    ((points as f64 * 0.15) as u64).max(100).min(points)
}
