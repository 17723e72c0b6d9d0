//! When a capture was taken, and of what.

use musterbench::measure::record::Record;
use musterbench::wire::channel::{FEED_CURRENT, LOAD_VOLTAGE};

/// When a capture was taken, and of what.
#[derive(Clone, Debug)]
pub struct Window {
    pub first_us: u64,
    pub interval_us: u64,
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
}

/// How many points at the end of so many are settled: 15 %, 100 at least.
fn settled(points: u64) -> u64 {
    ((points as f64 * 0.15) as u64).max(100).min(points)
}
