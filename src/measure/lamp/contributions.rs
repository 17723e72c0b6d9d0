//! What the instants of a lamp's changes leave open of its rate and its duty.
//!
//! Source: JCGM 100:2008 (GUM), 5.1.2 for changes that were seen, each with an error of its own, and
//! F.1.2.3 for hidden ones, whose errors may all be the same.

use super::runs::Change;
use crate::measure::budget::Budget;
use crate::measure::component::Component;
use crate::measure::source::Source;

/// What the instants of changes contribute to a time, in samples.
#[derive(Default)]
pub(super) struct Share {
    seen: Budget,
    /// Half-widths of hidden ones, added up: the steps of a script follow each other as regularly as
    /// a lamp blinks, so one after the other may be off the same way.
    hidden: f64,
}

impl Share {
    fn add(&mut self, change: &Change, sensitivity: f64) {
        if change.hidden {
            self.hidden += (sensitivity * change.half_width).abs();
            return;
        }
        let (noise, half_width) = (sensitivity * change.noise, sensitivity * change.half_width);
        self.seen.add(&Component::standard(noise.abs()).from(Source::Noise));
        self.seen.add(&Component::rectangular(half_width).from(Source::Sampling));
    }

    pub fn budget(&self) -> Budget {
        let mut budget = self.seen;
        budget.add(&Component::rectangular(self.hidden).from(Source::Sampling));
        budget
    }
}

/// What they contribute to the whole time, which rate hangs on, and to the time on, less its share of
/// the whole.
#[derive(Default)]
pub(super) struct Contributions {
    pub of_rate: Share,
    pub of_duty: Share,
}

impl Contributions {
    /// Adds the changes of whole cycles.
    pub fn add(&mut self, changes: &[Change], duty: f64) {
        let last = changes.len().saturating_sub(1);
        for (i, change) in changes.iter().enumerate() {
            let ends = f64::from(u8::from(i == last)) - f64::from(u8::from(i == 0));
            // Where the lamp goes on, a later change makes the time on shorter.
            let on = match (change.to_high, i) {
                (true, i) if i < last => -1.0,
                (false, i) if i > 0 => 1.0,
                _ => 0.0,
            };
            self.of_rate.add(change, ends);
            self.of_duty.add(change, on - duty * ends);
        }
    }
}
