//! An instant on the jig's time base.

use super::budget::Budget;
use super::component::Component;
use super::source::Source;
use super::uncertainty::Estimate;

/// Half-width in microseconds of what the jig's clock rounds away of a scan's time.
const CLOCK_US: f64 = 1.0;

/// An instant relative to the trigger.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instant {
    /// Time after the trigger, in microseconds.
    pub us: f64,
    /// What its uncertainty is made of, in microseconds.
    pub budget: Budget,
}

impl Instant {
    /// Anywhere between two instants.
    pub fn between(from_us: f64, to_us: f64) -> Instant {
        let half = Component::rectangular((to_us - from_us) / 2.0).from(Source::Sampling);
        Instant { us: (from_us + to_us) / 2.0, budget: Budget::of(&[half, clock()]) }
    }

    /// From an earlier instant to this one, in seconds.
    pub fn since(&self, earlier: &Instant) -> Estimate {
        Estimate::of(self.us - earlier.us, self.budget.plus(&earlier.budget)).scaled(1e-6)
    }

    /// From the trigger (or another moment known to the clock) to this instant, in seconds.
    pub fn after(&self, moment_us: f64) -> Estimate {
        Estimate::of(self.us - moment_us, self.budget).with(clock()).scaled(1e-6)
    }
}

/// What the jig's clock rounds away.
fn clock() -> Component {
    Component::rectangular(CLOCK_US).from(Source::Clock)
}
