//! When a contact closed, and when it opened.
//!
//! Terms after IEC 61810-7:2006: the first closing and the last one (bounce between them), the last
//! opening. Each lies between two conversions, and nobody looked in between: the interval that holds it
//! goes from the last conversion that was surely before to the first that was surely after.
//!
//! A converter's filter remembers what came between two conversions, for some of its time constants. So
//! a touch that is too short for any conversion still leaves a trace in the next one, far above the
//! noise: it is taken for what it is, a closing since the conversion before.
//!
//! Where a point of the record is the mean of several conversions, its share of the closed level says
//! how many of them were closed, but not which: a contact that chatters may have closed before the first
//! of them.
//!
//! - **A closing** is told by the voltage behind the contact, which steps at once whatever load it
//!   meets; a coil's current lags, a lamp's overshoots. Where no voltage tells, the current does: one
//!   that creeps up has begun since the straight line through its first two points began (a current
//!   that rises ever more slowly began later).
//! - **An opening** is told by the current, which ends at once, since what a coil drives on runs round
//!   past the shunt. No current, or one that could be nothing: then by the voltage's leaving its level,
//!   since what a capacitor, a motor or a strip of light-emitting diodes holds up falls slowly.

use super::instant::Instant;
use super::record::Record;
use super::unseen::TRACE;
use super::witness::{Levels, Witness};

/// A share of the closed level that is no change, in standard deviations of a sample.
const CLEAR: f64 = 10.0;
/// A closed contact's level may be so much lower for a while: a lamp's inrush pulls the supply down
/// (common practice, no source).
const SAG: f64 = 0.15;
/// An interruption that no conversion falls into shows as a dip by this share at least, against the
/// next point; more than a level recovers from an inrush within a point (common practice, no source).
const DIP: f64 = 0.005;
/// By so much a voltage leaves its level when the contact opens, as a share.
const LEAVES: f64 = 0.02;
/// A current that has not reached this share of its final level so many points after it began lags.
const AT_ONCE: f64 = 0.8;
const SOON: usize = 4;
/// How exactly a point's share tells how many of its conversions were closed.
const COUNTED: f64 = 0.12;
/// So many points just before an opening give the level that ends.
const JUST_BEFORE: usize = 4;

/// What tells when a contact changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToldBy {
    /// The current through it.
    Current,
    /// The voltage behind it.
    Voltage,
}

impl ToldBy {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            ToldBy::Current => "current",
            ToldBy::Voltage => "voltage",
        }
    }
}

/// A contact with all that was captured of it.
#[derive(Clone, Copy, Debug)]
pub struct Contact<'a> {
    /// Its current; `None` without a channel, or where it could be nothing.
    pub current: Option<Witness<'a>>,
    /// The voltage behind it.
    pub voltage: Option<Witness<'a>>,
}

/// How a contact closed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Closing {
    /// The first closing.
    pub first: Instant,
    /// The last closing; `None` where nothing tells, because the current lags.
    pub last: Option<Instant>,
    /// How often it closed; 1 without bounce.
    pub count: usize,
    /// What tells it.
    pub told_by: ToldBy,
}

/// How a contact opened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// The last opening.
    pub last: Instant,
    /// What tells it.
    pub told_by: ToldBy,
}

impl<'a> Contact<'a> {
    fn witnesses(&self, start: usize) -> impl Iterator<Item = (ToldBy, &Witness<'a>, Levels<'a>)> {
        let each = [(ToldBy::Voltage, &self.voltage), (ToldBy::Current, &self.current)];
        each.into_iter().filter_map(move |(told_by, witness)| {
            let witness = witness.as_ref()?;
            Some((told_by, witness, witness.levels(start)?))
        })
    }

    /// Whether it was closed before scan `start`: by the current where that tells; a voltage may be
    /// held up.
    pub fn was_closed(&self, start: usize) -> bool {
        self.current.or(self.voltage).is_some_and(|w| w.before_and_after(start).0)
    }

    /// Whether it was closed and its voltage never left, where no current tells.
    pub fn holds_up(&self, start: usize) -> bool {
        self.current.is_none()
            && self.voltage.is_some_and(|w| w.before_and_after(start) == (true, true))
    }

    /// How it closed for good from scan `start` on; `None` where it did not.
    pub fn closing(&self, record: &Record, start: usize) -> Option<Closing> {
        let (told_by, witness, levels) = self.witnesses(start).find(|(.., l)| l.rises())?;
        let points = Points::new(record, witness, start, &levels, levels.before, levels.after);
        points.closing(told_by)
    }

    /// How it opened for good from scan `start` on; `None` where it did not, or nothing tells.
    pub fn opening(&self, record: &Record, start: usize) -> Option<Opening> {
        let mut all: Vec<_> = self.witnesses(start).filter(|(.., l)| l.falls()).collect();
        // The current first.
        all.reverse();
        let (told_by, witness, levels) = all.into_iter().next()?;
        let last = match told_by {
            ToldBy::Current => {
                let over = |&i: &usize| f64::from(levels.counts[i]) > levels.least;
                let end = (start..levels.counts.len()).rev().find(over).unwrap_or(start);
                let just_before = &levels.counts[end.saturating_sub(JUST_BEFORE)..end.max(1)];
                let sum: f64 = just_before.iter().map(|&count| f64::from(count)).sum();
                let level = sum / just_before.len().max(1) as f64;
                let level = if level > levels.least { level } else { levels.before };
                Points::new(record, witness, start, &levels, levels.after, level).ends()
            }
            ToldBy::Voltage => {
                let points =
                    Points::new(record, witness, start, &levels, levels.after, levels.before);
                points.leaves()
            }
        };
        Some(Opening { last, told_by })
    }
}

/// A trace as shares of the closed level.
struct Points<'a> {
    record: &'a Record,
    skew_us: f64,
    counts: &'a [i16],
    start: usize,
    open: f64,
    per_share: f64,
    /// What is above this is more than an open contact shows.
    trace: f64,
    /// Conversions in a point.
    many: f64,
    /// How exactly a share tells how many of them were closed, in conversions.
    counted: f64,
}

impl<'a> Points<'a> {
    fn new(
        record: &'a Record,
        witness: &Witness<'a>,
        start: usize,
        levels: &Levels<'a>,
        open: f64,
        closed: f64,
    ) -> Self {
        let per_share = closed - open;
        let noise = CLEAR * levels.noise / per_share;
        let many = f64::from(record.average.max(1));
        Points {
            record,
            skew_us: witness.trace.skew_us,
            counts: levels.counts,
            start: start.max(1) - 1,
            open,
            per_share,
            trace: noise.max(TRACE),
            many,
            counted: COUNTED.max(many * noise / 2.0),
        }
    }

    fn share(&self, point: usize) -> f64 {
        let count = self.counts[point.min(self.counts.len() - 1)];
        (f64::from(count) - self.open) / self.per_share
    }

    fn all(&self) -> core::ops::Range<usize> {
        self.start..self.counts.len()
    }

    fn is_open(&self, point: usize) -> bool {
        self.share(point) <= self.trace
    }

    /// Whether an interruption lies in a point, or shortly before it.
    fn is_interrupted(&self, point: usize) -> bool {
        let here = self.share(point);
        here < 1.0 - SAG.max(self.trace) || here < self.share(point + 1) - DIP.max(self.trace)
    }

    /// How many conversions of a point were closed all the time; and how many at least, if the filter
    /// makes one of them a part.
    fn closed_in(&self, point: usize) -> [f64; 2] {
        let closed = (self.many * self.share(point)).clamp(0.0, self.many);
        let unsure = self.counted - COUNTED;
        [closed + COUNTED - unsure, closed + self.counted].map(|n| n.floor().clamp(0.0, self.many))
    }

    /// How many conversions of a point were closed, those in part included, at least.
    fn touched_in(&self, point: usize) -> f64 {
        let closed = (self.many * self.share(point)).clamp(0.0, self.many);
        (closed - self.counted).ceil().max(1.0)
    }

    /// When a conversion of a point was made, in points; −1 is the last one of the point before.
    fn conversion(&self, point: usize, conversion: f64) -> f64 {
        point as f64 - 0.5 + (conversion + 0.5) / self.many
    }

    fn between(&self, from: f64, to: f64) -> Instant {
        let us = |at: f64| {
            self.record.time_us(0) + at * f64::from(self.record.interval_us) + self.skew_us
        };
        Instant::between(us(from), us(to))
    }

    fn closing(&self, told_by: ToldBy) -> Option<Closing> {
        let first = self.all().find(|&k| !self.is_open(k))?;
        let mut from = self.conversion(first, -1.0);
        let to = self.conversion(first, self.many - self.touched_in(first));
        let last = self.all().rev().find(|&k| k >= first && self.is_interrupted(k));
        let by_current = told_by == ToldBy::Current;
        let creeps = by_current && self.creeps(first);
        let lags = creeps || by_current && last.is_some_and(|k| k > first && self.climbs(k));
        if creeps {
            from = from.min(self.began(first));
        }
        let first_at = self.between(from, to);
        let opens =
            |&k: &usize| self.is_interrupted(k) && (k == first + 1 || !self.is_interrupted(k - 1));
        let (last_at, count) = match last {
            None => (first_at, 1),
            // In the point of the first closing, if any.
            Some(last) if last == first => {
                (self.between(from, self.conversion(first, self.many)), 1)
            }
            Some(last) => (self.reclosing(last), 1 + (first + 1..=last).filter(opens).count()),
        };
        Some(Closing { first: first_at, last: (!lags).then_some(last_at), count, told_by })
    }

    /// The current creeps up from here like that of a coil.
    fn creeps(&self, point: usize) -> bool {
        let soon = self.share(point + SOON);
        soon < AT_ONCE && self.share(point) < soon
    }

    /// The current is on its way up over more points than one.
    fn climbs(&self, point: usize) -> bool {
        let before = self.share(point - 1);
        before > self.trace && before < self.share(point)
    }

    /// Where the straight line through the first point of a creeping current, and the one where it has
    /// grown threefold, comes from nothing; a point earlier, for the noise.
    fn began(&self, first: usize) -> f64 {
        let here = self.share(first);
        let grown = (first + 1..self.counts.len()).find(|&k| self.share(k) >= 3.0 * here);
        let Some(grown) = grown else { return self.start as f64 };
        let slope = (self.share(grown) - here) / (grown - first) as f64;
        (first as f64 - here / slope - 1.0).max(self.start as f64)
    }

    /// The closing after the last point with an interruption.
    fn reclosing(&self, last: usize) -> Instant {
        // So many of its conversions were open at least; if none was, the filter tells of what came
        // before the first.
        let open = self.many - self.touched_in(last).min(self.many);
        self.between(self.conversion(last, open - 1.0), self.conversion(last, self.many))
    }

    /// When a current ends that steps down at once.
    fn ends(&self) -> Instant {
        let last = self.all().rev().find(|&k| !self.is_open(k)).unwrap_or(self.start);
        self.stepped_down(last)
    }

    /// An opening within a point, of which the first conversions were closed; what follows is what the
    /// filter remembers.
    fn stepped_down(&self, point: usize) -> Instant {
        let [least, most] = self.closed_in(point);
        self.between(self.conversion(point, least - 1.0), self.conversion(point, most))
    }

    /// When a voltage leaves the closed level for good, which may then fall slowly.
    fn leaves(&self) -> Instant {
        let is_there = |k: usize| self.share(k) >= 1.0 - LEAVES.max(self.trace);
        let there = self.all().rev().find(|&k| is_there(k)).unwrap_or(self.start);
        let (here, next) = (self.share(there + 1), self.share(there + 2));
        if next < DIP.max(self.trace) || here < DIP.max(self.trace) {
            // It steps down.
            return self.stepped_down(there + 1);
        }
        // It falls: since when, its first two points tell, and twice that is allowed.
        let falls = (here - next).max(f64::MIN_POSITIVE);
        let since = (2.0 * (1.0 - here) / falls).min((there + 1 - self.start) as f64);
        let from = (there as f64 + 1.0 - since).min(self.conversion(there + 1, -1.0));
        self.between(from, self.conversion(there + 1, self.many - 1.0))
    }
}

#[cfg(test)]
mod tests;
