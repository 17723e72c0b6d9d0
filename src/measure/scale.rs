//! The straight line from a converter's counts to values, and where its range ends.
//!
//! Samples stay counts: they are analysed as they came, and what was found is converted at the end.
//! A calibration is a straight line too, so it only changes the line. Whether a sample is cut off is
//! seen on its count, calibrated or not.

/// The line from counts to values. Values rise with the counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Value of zero counts.
    pub zero: f64,
    /// Value of one count more.
    pub per_count: f64,
}

impl Scale {
    /// Samples that are values already.
    pub const VALUES: Scale = Scale { zero: 0.0, per_count: 1.0 };

    /// The value of a count, or of a mean of counts.
    pub fn value(&self, counts: f64) -> f64 {
        self.zero + self.per_count * counts
    }

    /// How far values lie apart whose counts do.
    pub fn difference(&self, counts: f64) -> f64 {
        self.per_count * counts
    }

    /// The counts, with their fraction, of a value.
    pub fn counts_of(&self, value: f64) -> f64 {
        (value - self.zero) / self.per_count
    }

    /// Values that are corrected by another straight line: `offset + gain · value`.
    #[must_use]
    pub fn corrected(&self, offset: f64, gain: f64) -> Scale {
        Scale { zero: offset + gain * self.zero, per_count: gain * self.per_count }
    }
}

/// An end of a channel's range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The highest that it can tell, or more.
    Top,
    /// The lowest that it can tell, or less.
    Bottom,
}

/// So near to an end of its range, in counts, a sample may be cut off: rounding takes half a count on
/// either side.
const NEAR_COUNTS: f64 = 1.5;

/// The counts at which a sample may be cut off. What stands there, or beyond, may be any value beyond.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ends {
    /// Up to here it is cut off at the bottom.
    pub low: f64,
    /// From here on it is cut off at the top.
    pub high: f64,
}

impl Ends {
    /// A channel that tells everything.
    pub const NONE: Ends = Ends { low: f64::NEG_INFINITY, high: f64::INFINITY };

    /// Those of a channel that reads from one value to another; by the line that its jig states, not
    /// by that of a calibration. Zero is an honest value of a channel that begins there.
    pub fn of(stated: &Scale, minimum: f64, maximum: f64) -> Ends {
        let low = stated.counts_of(minimum) + NEAR_COUNTS;
        Ends {
            low: if minimum < 0.0 { low } else { f64::NEG_INFINITY },
            high: stated.counts_of(maximum) - NEAR_COUNTS,
        }
    }

    /// The end at which so many counts stand.
    pub fn touched(&self, counts: f64) -> Option<End> {
        if counts >= self.high {
            Some(End::Top)
        } else if counts <= self.low {
            Some(End::Bottom)
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const STATED: Scale = Scale { zero: 0.0, per_count: 1e-4 };

    #[test]
    fn ends_of_ranges() {
        let ends = Ends::of(&STATED, -0.2, 2.5);
        assert_eq!(ends.touched(24_999.0), Some(End::Top));
        assert_eq!(ends.touched(24_998.0), None);
        assert_eq!(ends.touched(-2_000.0), Some(End::Bottom));
        assert_eq!(ends.touched(0.0), None);
        let supply = Ends::of(&STATED, 0.0, 3.0);
        assert_eq!(supply.touched(0.0), None);
        assert_eq!(supply.touched(30_000.0), Some(End::Top));
    }

    proptest! {
        #[test]
        fn there_and_back(
            zero in -1.0f64..1.0, per_count in 1e-6f64..1.0, offset in -0.1f64..0.1,
            gain in 0.9f64..1.1, counts: i16,
        ) {
            let (stated, counts) = (Scale { zero, per_count }, f64::from(counts));
            let corrected = stated.corrected(offset, gain);
            let wanted = offset + gain * stated.value(counts);
            prop_assert!((corrected.value(counts) - wanted).abs() <= 1e-12 * wanted.abs().max(1.0));
            prop_assert!((corrected.counts_of(wanted) - counts).abs() < 1e-6);
        }
    }
}
