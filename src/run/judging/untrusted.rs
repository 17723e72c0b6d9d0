//! Readings that the bench itself cannot vouch for.

use crate::judge::reading::{Blame, Verdict};
use crate::judge::verdict::Side;
use crate::measure::record::Record;
use crate::run::course::Course;
use crate::wire::channel::Description;
use std::ops::Range;

/// So near to the end of a channel's range, in counts, a value may be cut off: rounding takes half
/// a count on either side.
const NEAR_COUNTS: f64 = 1.5;

/// An end of a channel's range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum End {
    Top,
    Bottom,
}

/// Why a value cannot be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// The value itself stands at an end of its channel's range: it may lie anywhere beyond.
    Beyond(End),
    /// Something that the value was worked out from does.
    PartBeyond,
    /// Two voltage channels contradict each other.
    Contradiction,
    /// The record ended early.
    CutShort,
    /// The level that it is measured against had not settled.
    Unsettled,
    /// The level before had moved already.
    Restless,
}

impl Doubt {
    /// What becomes of a verdict on a value on this side of its limits. A value beyond the range
    /// fails only where the range's own end is beyond the limit; it never passes. What has not come
    /// to rest when it must have fails as it stands, but does not pass.
    pub fn decide(self, verdict: Verdict, side: Side) -> Verdict {
        let fails_all_the_same = matches!(
            (self, side),
            (Doubt::Beyond(End::Top), Side::Above)
                | (Doubt::Beyond(End::Bottom), Side::Below)
                | (Doubt::Unsettled | Doubt::Restless, _)
        );
        if verdict == Verdict::Fail && fails_all_the_same {
            Verdict::Fail
        } else {
            Verdict::Indeterminate
        }
    }

    /// In words.
    pub const fn why(self) -> &'static str {
        match self {
            Doubt::Beyond(_) => "beyond the jig's range",
            Doubt::PartBeyond => "a voltage or a current is beyond the jig's range",
            Doubt::Contradiction => {
                "below zero, which no contact can be: the jig's voltage channels disagree"
            }
            Doubt::CutShort => "the jig ended its record early",
            Doubt::Unsettled => {
                "the current had not settled at the end of the record: look at the load, and at what \
                 its sheet says of it"
            }
            Doubt::Restless => "the current moved already before the output was told to",
        }
    }

    /// Who has to look into it while nothing is decided.
    pub const fn blame(self) -> Blame {
        match self {
            Doubt::Beyond(_) | Doubt::PartBeyond | Doubt::Contradiction => Blame::Jig,
            // A trip ends records too; module or load may be what does not come to rest.
            Doubt::CutShort | Doubt::Unsettled | Doubt::Restless => Blame::Unsure,
        }
    }
}

/// The end of a channel's range at which a value stands. Zero is an honest value of a channel that
/// begins there.
pub(crate) fn end_at(channel: &Description, value: f64) -> Option<End> {
    let (low, high) = range(channel);
    if value >= high {
        Some(End::Top)
    } else if value <= low {
        Some(End::Bottom)
    } else {
        None
    }
}

/// The lowest and the highest reading that a channel can be trusted with, at the ends as
/// [`end_at`] finds them.
fn range(channel: &Description) -> (f64, f64) {
    let near = NEAR_COUNTS * channel.scale.abs();
    let low = if channel.minimum < 0.0 { channel.minimum + near } else { f64::NEG_INFINITY };
    (low, channel.maximum - near)
}

impl Course<'_, '_> {
    /// Where the values of a channel are cut off, after any correction.
    pub fn range(&self, channel: u16) -> (f64, f64) {
        let (low, high) =
            self.jig.channel(channel).map_or((f64::NEG_INFINITY, f64::INFINITY), range);
        self.correction(channel).map_or((low, high), |c| (c.correct(low), c.correct(high)))
    }

    /// The end of its range that a channel touches in some scans of a record.
    pub fn end_touched(
        &self,
        record: &Record,
        channel: u16,
        scans: impl Into<Option<Range<usize>>>,
    ) -> Option<End> {
        let values = &record.trace(channel)?.values;
        let values = match scans.into() {
            Some(range) => values.get(range)?,
            None => values,
        };
        values.iter().find_map(|&v| self.end_at(channel, f64::from(v)))
    }

    /// The doubt about a value of `channel` that was worked out with others too.
    pub fn doubt(
        &self,
        record: &Record,
        channel: u16,
        others: &[u16],
        scans: impl Into<Option<Range<usize>>>,
    ) -> Option<Doubt> {
        let scans = scans.into();
        if others.iter().any(|&c| self.end_touched(record, c, scans.clone()).is_some()) {
            return Some(Doubt::PartBeyond);
        }
        self.end_touched(record, channel, scans).map(Doubt::Beyond)
    }

    /// The end of a channel's range at which a value of its stands; the range is that of the
    /// readings before any correction.
    pub fn end_at(&self, channel: u16, value: f64) -> Option<End> {
        let reading = self.correction(channel).map_or(value, |c| c.reading_of(value));
        end_at(self.jig.channel(channel)?, reading)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::channel::{CLAMP_CURRENT, Kind};

    #[test]
    fn a_doubtful_value_never_passes() {
        for doubt in [
            Doubt::Beyond(End::Top),
            Doubt::Beyond(End::Bottom),
            Doubt::PartBeyond,
            Doubt::Contradiction,
            Doubt::CutShort,
            Doubt::Unsettled,
            Doubt::Restless,
        ] {
            for side in [Side::Below, Side::Inside, Side::Above, Side::Missing] {
                for verdict in [Verdict::Pass, Verdict::Indeterminate, Verdict::Fail] {
                    let is_further_out = matches!(
                        (doubt, side),
                        (Doubt::Beyond(End::Top), Side::Above)
                            | (Doubt::Beyond(End::Bottom), Side::Below)
                            | (Doubt::Unsettled | Doubt::Restless, _)
                    );
                    let fails = is_further_out && verdict == Verdict::Fail;
                    let wanted = if fails { Verdict::Fail } else { Verdict::Indeterminate };
                    assert_eq!(doubt.decide(verdict, side), wanted, "{doubt:?} {side:?}");
                }
            }
        }
    }

    #[test]
    fn ends_of_ranges() {
        let current = &Description {
            channel: CLAMP_CURRENT,
            kind: Kind::Current,
            minimum: -0.2,
            maximum: 2.5,
            scale: 0.000_1,
            offset: 0.0,
            gain_limit: 0.005,
            offset_limit: 0.000_5,
            linearity_limit: 0.000_2,
            interval_us: 20,
            skew_us: 0.0,
        };
        assert_eq!(end_at(current, current.maximum - current.scale), Some(End::Top));
        assert_eq!(end_at(current, current.maximum - 2.0 * current.scale), None);
        assert_eq!(end_at(current, current.minimum), Some(End::Bottom));
        assert_eq!(end_at(current, 0.0), None);
        let supply = &Description { minimum: 0.0, maximum: 24.0, ..*current };
        assert_eq!(end_at(supply, 0.0), None);
        assert_eq!(end_at(supply, supply.maximum), Some(End::Top));
    }
}
