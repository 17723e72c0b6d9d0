//! What tells whether a contact is closed: the current through it, or the voltage behind it.

use super::mean::Mean;
use super::record::Trace;
use super::settled::tail;

/// An amplitude below so many standard deviations of the noise is no change.
const LEAST_SIGNAL: f64 = 8.0;

/// Share of the record at its end that gives the final level.
const FINAL: f64 = 0.15;

/// One trace of a contact as it was captured.
#[derive(Clone, Copy, Debug)]
pub struct Witness<'a> {
    /// Its current, or the voltage behind it.
    pub trace: &'a Trace,
    /// The smallest value that counts as closed, in amperes or volts.
    pub least: f64,
}

impl<'a> Witness<'a> {
    /// Whether the contact was closed before scan `start`, and at the end of the record.
    pub fn before_and_after(&self, start: usize) -> (bool, bool) {
        self.levels(start).map_or((false, false), |l| (l.before_closed, l.after_closed))
    }

    /// Whether it changed at any time from scan `start` on, if only for a moment: two scans in a
    /// row on the other side.
    pub fn stirs(&self, start: usize) -> bool {
        let Some(levels) = self.levels(start) else { return false };
        // A load's inrush may fall far, but an open contact carries nothing.
        let other = |count: i16| (f64::from(count) > levels.least) != levels.before_closed;
        let counts = self.trace.part(start..).unwrap_or_default();
        counts.windows(2).any(|pair| pair.iter().all(|&count| other(count)))
    }

    /// The levels before scan `start` and at the end; `None` where there are too few scans.
    pub fn levels(&self, start: usize) -> Option<Levels<'a>> {
        let Witness { trace, least } = *self;
        let counts = &trace.counts[..];
        let before = Mean::of(counts.get(..start.min(counts.len()))?)?;
        let after = Mean::of(&counts[tail(counts.len(), FINAL, 10)])?;
        // Rounding to whole counts scatters them like a rectangle.
        let noise = before.deviation.min(after.deviation).max(1.0 / 12f64.sqrt());
        let above_zero = (least / trace.scale.per_count).max(LEAST_SIGNAL * noise);
        let least = trace.scale.counts_of(0.0) + above_zero;
        Some(Levels {
            counts,
            before: before.value,
            after: after.value,
            noise,
            least,
            before_closed: before.value > least,
            after_closed: after.value > least,
        })
    }
}

/// Levels at both ends of a trace, in counts.
#[derive(Clone, Copy, Debug)]
pub struct Levels<'a> {
    /// The samples.
    pub counts: &'a [i16],
    /// The level before anything moved.
    pub before: f64,
    /// The level at the end.
    pub after: f64,
    /// Standard deviation of one sample.
    pub noise: f64,
    /// What is above this is closed.
    pub least: f64,
    /// Whether the contact was closed before.
    pub before_closed: bool,
    /// Whether it is closed at the end.
    pub after_closed: bool,
}

impl Levels<'_> {
    /// Whether the contact closed for good.
    pub fn rises(&self) -> bool {
        !self.before_closed && self.after_closed
    }

    /// Whether it opened for good.
    pub fn falls(&self) -> bool {
        self.before_closed && !self.after_closed
    }
}
