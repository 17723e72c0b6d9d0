//! Readings that the bench itself cannot vouch for.

use crate::judge::reading::{Blame, Bound, Verdict};
use crate::judge::verdict::Side;
use crate::measure::record::Record;
use crate::measure::scale::End;
use core::ops::RangeBounds;

/// Why a value cannot be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Untrusted {
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

impl Untrusted {
    /// What becomes of a verdict on a value on this side of its limits. A value beyond the range
    /// fails only where the range's own end is beyond the limit; it never passes. What has not come
    /// to rest when it must have fails as it stands, but does not pass.
    pub fn decide(self, verdict: Verdict, side: Side) -> Verdict {
        let fails_all_the_same = matches!(
            (self, side),
            (Untrusted::Beyond(End::Top), Side::Above)
                | (Untrusted::Beyond(End::Bottom), Side::Below)
                | (Untrusted::Unsettled | Untrusted::Restless, _)
        );
        if verdict == Verdict::Fail && fails_all_the_same {
            Verdict::Fail
        } else {
            Verdict::Indeterminate
        }
    }

    /// Whether a value is one all the same. What is cut off at an end of the range, or is made of what
    /// is, is none.
    pub const fn leaves_a_value(self) -> bool {
        !matches!(self, Untrusted::Beyond(_) | Untrusted::PartBeyond)
    }

    /// On which side of a value that is cut off the true one lies.
    pub const fn bound(self) -> Option<Bound> {
        match self {
            Untrusted::Beyond(End::Top) => Some(Bound::MoreThan),
            Untrusted::Beyond(End::Bottom) => Some(Bound::LessThan),
            _ => None,
        }
    }

    /// In words.
    pub const fn in_words(self) -> &'static str {
        match self {
            Untrusted::Beyond(_) => "beyond the jig's range",
            Untrusted::PartBeyond => "a voltage or a current is beyond the jig's range",
            Untrusted::Contradiction => {
                "below zero, which no contact can be: the jig's voltage channels disagree"
            }
            Untrusted::CutShort => "the jig ended its record early",
            Untrusted::Unsettled => {
                "the current had not settled at the end of the record: look at the load, and at what \
                 its sheet says of it"
            }
            Untrusted::Restless => "the current moved already before the output was told to",
        }
    }

    /// Who has to look into it while nothing is decided.
    pub const fn blame(self) -> Blame {
        match self {
            Untrusted::Beyond(_) | Untrusted::PartBeyond | Untrusted::Contradiction => Blame::Jig,
            // A trip ends records too; module or load may be what does not come to rest.
            Untrusted::CutShort | Untrusted::Unsettled | Untrusted::Restless => Blame::Unsure,
        }
    }
}

/// Why a value of `channel` that was worked out with others too cannot be trusted.
pub fn beyond_range(
    record: &Record,
    channel: u16,
    others: &[u16],
    scans: impl RangeBounds<usize> + Clone,
) -> Option<Untrusted> {
    let touched = |channel| record.trace(channel)?.end_touched(scans.clone());
    if others.iter().any(|&c| touched(c).is_some()) {
        return Some(Untrusted::PartBeyond);
    }
    touched(channel).map(Untrusted::Beyond)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_that_is_not_trusted_never_passes() {
        for why in [
            Untrusted::Beyond(End::Top),
            Untrusted::Beyond(End::Bottom),
            Untrusted::PartBeyond,
            Untrusted::Contradiction,
            Untrusted::CutShort,
            Untrusted::Unsettled,
            Untrusted::Restless,
        ] {
            for side in [Side::Below, Side::Inside, Side::Above, Side::Missing] {
                for verdict in [Verdict::Pass, Verdict::Indeterminate, Verdict::Fail] {
                    let is_further_out = matches!(
                        (why, side),
                        (Untrusted::Beyond(End::Top), Side::Above)
                            | (Untrusted::Beyond(End::Bottom), Side::Below)
                            | (Untrusted::Unsettled | Untrusted::Restless, _)
                    );
                    let fails = is_further_out && verdict == Verdict::Fail;
                    let wanted = if fails { Verdict::Fail } else { Verdict::Indeterminate };
                    assert_eq!(why.decide(verdict, side), wanted, "{why:?} {side:?}");
                }
            }
        }
    }
}
