//! The change-over of an output, from the currents (or voltages) at its two clamps.
//!
//! Sources: IEC 61810-7:2006 (transfer time: from the opening of the closed contact to the first
//! closing of the open one; bounce time: from the first to the last change of the closing contact)
//! with the 50 % reference level of IEEE Std 181-2011. The level that a closed contact settles at
//! is the one at the end of the record, not an inrush peak.
//!
//! A bounce can be shorter than a point of the record. Where a point is the mean of several
//! conversions, a closure that lasts just one of them still shows as part of the level. So a change
//! is a swing by more than half a conversion's share, from one turning point of the waveform to the
//! next; a slow edge or a decaying inrush has no turning points and makes no bounce. A closure (or
//! an opening) into which no conversion falls is none: nobody can tell when it was, so it is no part
//! of what is measured.

use super::budget::Budget;
use super::component::Component;
use super::crossing::{Crossing, Edge, Noise};
use super::mean::Mean;
use super::record::{Record, Trace};
use super::settled::tail;
use super::source::Source;
use super::turns::{Course, rises};
use super::uncertainty::Estimate;
use closures::Closing;

mod closures;

/// A swing below so many standard deviations of the noise is no change.
const LEAST_SWING: f64 = 10.0;

/// An amplitude below so many standard deviations of the noise is no change.
const LEAST_SIGNAL: f64 = 8.0;

/// Share of the record at its end that gives the final level.
const FINAL: f64 = 0.15;

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

/// How one contact changed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Changes {
    /// The first change into the final state.
    pub first: Instant,
    /// The last change into the final state.
    pub last: Instant,
    /// How often it changed into the final state; 1 without bounce.
    pub count: usize,
}

/// The change-over of one output.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChangeOver {
    /// The old contact's opening; `None` when it was not closed or did not open.
    pub opened: Option<Changes>,
    /// The new contact's closing; `None` when it did not close.
    pub closed: Option<Changes>,
    /// Whether the old contact carried current at the start.
    pub old_was_closed: bool,
    /// Whether the new contact carried current at the start already.
    pub new_was_closed: bool,
    /// Time between conversions: the shortest bounce that is surely seen, in seconds.
    pub interval_s: f64,
}

impl ChangeOver {
    /// From the last opening of the old contact to the first closing of the new one, in seconds;
    /// negative when they overlap.
    pub fn gap(&self) -> Option<Estimate> {
        Some(self.closed?.first.since(&self.opened?.last))
    }

    /// From the first to the last change of the closing contact, in seconds. A bounce that is
    /// shorter than the time between two conversions can stay unseen: that time is its uncertainty.
    pub fn bounce(&self) -> Option<Estimate> {
        let closed = self.closed?;
        let unseen = Component::rectangular(self.interval_s).from(Source::Sampling);
        Some(if closed.count <= 1 {
            Estimate::new(0.0, &[unseen])
        } else {
            closed.last.since(&closed.first)
        })
    }

    /// From a moment, in microseconds after the trigger, to the first closing, in seconds.
    pub fn response_after(&self, moment_us: f64) -> Option<Estimate> {
        Some(self.closed?.first.after(moment_us))
    }
}

/// One contact of a change-over as it was captured.
#[derive(Clone, Copy, Debug)]
pub struct Contact<'a> {
    /// Its current, or the voltage behind it.
    pub trace: &'a Trace,
    /// The smallest value that counts as closed, in amperes or volts.
    pub least: f64,
}

impl Contact<'_> {
    /// Whether it was closed before scan `start`, and at the end of the record.
    pub fn before_and_after(&self, start: usize) -> (bool, bool) {
        Levels::of(self, start).map_or((false, false), |e| (e.before_closed, e.after_closed))
    }

    /// Whether it changed at any time from scan `start` on, if only for a moment: two scans in a
    /// row on the other side.
    pub fn stirs(&self, start: usize) -> bool {
        let Some(ends) = Levels::of(self, start) else { return false };
        // A load's inrush may fall far, but an open contact carries nothing.
        let other = |count: i16| (f64::from(count) > ends.least) != ends.before_closed;
        let counts = self.trace.part(start..).unwrap_or_default();
        counts.windows(2).any(|pair| pair.iter().all(|&count| other(count)))
    }
}

/// Finds the change-over in a record.
///
/// `start` is the index of the first scan at which anything may move; the scans before it give the
/// levels before the change.
pub fn change_over(
    record: &Record,
    old: &Contact<'_>,
    new: &Contact<'_>,
    start: usize,
) -> ChangeOver {
    let old_ends = Levels::of(old, start);
    let new_ends = Levels::of(new, start);
    ChangeOver {
        opened: old_ends.filter(Levels::falls).and_then(|e| changes(record, old.trace, start, &e)),
        closed: new_ends.filter(Levels::rises).and_then(|e| changes(record, new.trace, start, &e)),
        old_was_closed: old_ends.is_some_and(|e| e.before_closed),
        new_was_closed: new_ends.is_some_and(|e| e.before_closed),
        interval_s: f64::from(record.interval_us) / f64::from(record.average.max(1)) * 1e-6,
    }
}

/// Levels at both ends of a trace, in counts.
#[derive(Clone, Copy)]
struct Levels {
    before: Mean,
    after: Mean,
    noise: f64,
    /// What is above this is closed.
    least: f64,
    before_closed: bool,
    after_closed: bool,
}

impl Levels {
    fn of(contact: &Contact<'_>, start: usize) -> Option<Levels> {
        let Contact { trace, least } = *contact;
        let counts = &trace.counts[..];
        let before = Mean::of(counts.get(..start.min(counts.len()))?)?;
        let after = Mean::of(&counts[tail(counts.len(), FINAL, 10)])?;
        // Rounding to whole counts scatters them like a rectangle.
        let noise = before.deviation.min(after.deviation).max(1.0 / 12f64.sqrt());
        let above_zero = (least / trace.scale.per_count).max(LEAST_SIGNAL * noise);
        let least = trace.scale.counts_of(0.0) + above_zero;
        Some(Levels {
            before,
            after,
            noise,
            least,
            before_closed: before.value > least,
            after_closed: after.value > least,
        })
    }

    fn rises(&self) -> bool {
        !self.before_closed && self.after_closed
    }

    fn falls(&self) -> bool {
        self.before_closed && !self.after_closed
    }
}

/// All changes of a trace from the level before to the level after.
fn changes(record: &Record, trace: &Trace, start: usize, ends: &Levels) -> Option<Changes> {
    let span = ends.after.value - ends.before.value;
    let share = |of: f64| (of / span).abs();
    let noise = Noise {
        sample: share(ends.noise),
        levels: [&ends.before, &ends.after].map(|m| share(m.noise)),
    };
    let average = f64::from(record.average.max(1));
    let swing = (0.5 / average).max(LEAST_SWING * noise.sample).min(0.9);
    let course = Course::new(&trace.counts, ends.before.value, span);
    let mut found: Option<Changes> = None;
    rises(&course, start.max(1) - 1, swing, |rise| {
        let edge = Edge { course: &course, noise, rise, swing };
        for closure in (Closing { edge, average }).closures() {
            let at = instant(record, trace, &closure);
            found = Some(match found {
                None => Changes { first: at, last: at, count: 1 },
                Some(before) => Changes { last: at, count: before.count + 1, ..before },
            });
        }
    });
    found
}

/// A crossing on the record's time base.
fn instant(record: &Record, trace: &Trace, crossing: &Crossing) -> Instant {
    let interval_us = f64::from(record.interval_us);
    let mut budget = Budget::of(&crossing.components()).scaled(interval_us);
    budget.add(&clock());
    Instant { us: record.time_us(0) + crossing.at * interval_us + trace.skew_us, budget }
}

#[cfg(test)]
mod tests;
