//! Readings that the bench itself cannot vouch for.

use crate::judge::reading::{Blame, Verdict};
use crate::judge::verdict::Side;
use crate::measure::record::Record;
use crate::measure::scale::End;
use crate::procedure::samples;
use crate::run::course::Course;
use core::ops::RangeBounds;

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

impl Course<'_, '_> {
    /// The doubt about a value of `channel` that was worked out with others too.
    pub fn doubt(
        &self,
        record: &Record,
        channel: u16,
        others: &[u16],
        scans: impl RangeBounds<usize> + Clone,
    ) -> Option<Doubt> {
        let touched = |channel| record.trace(channel)?.end_touched(scans.clone());
        if others.iter().any(|&c| touched(c).is_some()) {
            return Some(Doubt::PartBeyond);
        }
        touched(channel).map(Doubt::Beyond)
    }

    /// The end of a channel's range at which a value stands that the jig has worked out itself, before
    /// any correction.
    pub fn end_of_reading(&self, channel: u16, reading: f64) -> Option<End> {
        samples::end_of_reading(self.jig.channel(channel)?, reading)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
