//! The change-over of an output, from what was captured of its two contacts.
//!
//! Source: IEC 61810-7:2006 (transfer time: from the opening of the closed contact to the first
//! closing of the open one; bounce time: from the first to the last closing).

use super::component::Component;
use super::contact::{Closing, Contact, Opening, ToldBy};
use super::instant::Instant;
use super::record::Record;
use super::source::Source;
use super::uncertainty::Estimate;
use super::unseen::{self, Unseen};

/// The change-over of one output.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChangeOver {
    /// The old contact's opening; `None` when it was not closed or did not open.
    pub opened: Option<Opening>,
    /// The new contact's closing; `None` when it did not close.
    pub closed: Option<Closing>,
    /// Whether the old contact was closed at the start.
    pub old_was_closed: bool,
    /// Whether the new contact was closed at the start already.
    pub new_was_closed: bool,
    /// The old contact was closed, and its voltage stays up; no current tells whether it opened.
    pub holds_up: bool,
    /// Time between conversions, in seconds.
    pub interval_s: f64,
    /// How many conversions a point of the record is the mean of.
    pub conversions: f64,
}

impl ChangeOver {
    /// Finds the change-over in a record.
    ///
    /// `start` is the index of the first scan at which anything may move; the scans before it give the
    /// levels before the change.
    pub fn of(record: &Record, old: &Contact<'_>, new: &Contact<'_>, start: usize) -> ChangeOver {
        ChangeOver {
            opened: old.opening(record, start),
            closed: new.closing(record, start),
            old_was_closed: old.was_closed(start),
            new_was_closed: new.was_closed(start),
            holds_up: old.holds_up(start),
            interval_s: f64::from(record.interval_us) / f64::from(record.average.max(1)) * 1e-6,
            conversions: f64::from(record.average.max(1)),
        }
    }

    /// From the last opening of the old contact to the first closing of the new one, in seconds;
    /// negative when they overlap.
    pub fn gap(&self) -> Option<Estimate> {
        Some(self.closed?.first.since(&self.opened?.last))
    }

    /// From the first to the last closing, in seconds. A bounce that is shorter than the time between
    /// two conversions, or lies within one point, can stay unseen: that time is its uncertainty. `None` where
    /// nothing tells the last closing.
    ///
    /// What both instants leave open is added up: where a contact closes cleanly in a point of several
    /// conversions the first closing lies at the late end of its interval, and the last one at the early end.
    pub fn bounce(&self) -> Option<Estimate> {
        let closed = self.closed?;
        let (first, last) = (closed.first, closed.last?);
        let half_s = |instant: &Instant| 1e-6 * 3f64.sqrt() * instant.budget.standard();
        let (value, open_s) = if closed.count > 1 {
            (1e-6 * (last.us - first.us), half_s(&first) + half_s(&last))
        } else if last == first {
            (0.0, self.interval_s)
        } else {
            (0.0, self.interval_s.max(2.0 * half_s(&last)))
        };
        Some(Estimate::new(value, &[Component::rectangular(open_s).from(Source::Sampling)]))
    }

    /// From a moment, in microseconds after the trigger, to the first closing, in seconds.
    pub fn response_after(&self, moment_us: f64) -> Option<Estimate> {
        Some(self.closed?.first.after(moment_us))
    }

    /// What one end of the bounce may have been that left no trace. By the bounce that was seen, which one
    /// rebound more does not more than double; if there was none, by how long a contact of this kind bounces
    /// at most, in seconds.
    pub fn unseen(&self, at_most_s: f64) -> Unseen {
        let seen_s = self.bounce().map_or(0.0, |bounce| bounce.value);
        let reach = if seen_s > 0.0 { seen_s } else { at_most_s };
        let between_us = 1e6 * self.interval_s;
        Unseen { chance: unseen::chance(1e6 * reach, between_us, self.conversions), reach }
    }

    /// What tells the old contact's opening and the new one's closing.
    pub fn told_by(&self) -> (Option<ToldBy>, Option<ToldBy>) {
        (self.opened.map(|o| o.told_by), self.closed.map(|c| c.told_by))
    }
}

#[cfg(test)]
mod tests;
