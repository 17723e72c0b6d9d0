//! The mean of some conversions, without a division for each point: the jig's processor has none worth
//! the name, and a computer's takes longer than all the rest of a point.

/// Bits after the point of the reciprocal.
const FRACTION_BITS: u32 = 48;
/// Counts below zero are shifted up by so much a conversion: the sum is never negative then.
const SHIFT: i64 = 1 << 15;

/// Divides by a number of conversions that stays the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mean {
    of: u16,
    /// The reciprocal, rounded up.
    reciprocal: u64,
}

impl Mean {
    /// Of so many conversions, at least one.
    pub const fn of(of: u16) -> Self {
        Mean { of, reciprocal: (1_u64 << FRACTION_BITS).div_ceil(of as u64) }
    }

    /// The mean, rounded to the nearest, halves to the even one: of two conversions every other sum is
    /// a half, and always the same way they would add up.
    ///
    /// The quotient is exact: the sum, at most 65,535 times the number, times the error of the reciprocal,
    /// below the number, stays below 2^48; and sum times reciprocal below 2^64 (Granlund, Montgomery:
    /// Division by Invariant Integers using Multiplication, 1994, section 4).
    pub fn round(self, sum: i32) -> i16 {
        if self.of == 1 {
            return sum as i16;
        }
        let of = i64::from(self.of);
        let shifted = i64::from(sum) + SHIFT * of;
        let above = ((shifted as u64 * self.reciprocal) >> FRACTION_BITS) as i64;
        let twice_left = 2 * (shifted - above * of);
        let whole = above - SHIFT;
        let up = match twice_left.cmp(&of) {
            core::cmp::Ordering::Less => 0,
            core::cmp::Ordering::Equal => whole & 1,
            core::cmp::Ordering::Greater => 1,
        };
        (whole + up) as i16
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// By division, as it is defined.
    fn divided(sum: i32, of: i32) -> i16 {
        let (whole, left) = (sum.div_euclid(of), sum.rem_euclid(of));
        let up = match (2 * left).cmp(&of) {
            core::cmp::Ordering::Less => 0,
            core::cmp::Ordering::Equal => whole & 1,
            core::cmp::Ordering::Greater => 1,
        };
        (whole + up) as i16
    }

    #[test]
    fn is_the_quotient_near_every_whole_and_every_half() {
        for of in [1, 2, 3, 5, 7, 10, 64, 97, 250, 999, 1_000, 1_024, 46_341, 65_534, 65_535] {
            let mean = Mean::of(of);
            let of = i32::from(of);
            let counts = (-32_768..32_768).step_by(37).chain([-1, 0, 1, 32_766, 32_767]);
            for whole in counts.map(|count| count * of) {
                for beside in [-1, 0, 1, of / 2 - 1, of / 2, of / 2 + 1, of - 1] {
                    let sum = whole.saturating_add(beside).clamp(-32_768 * of, 32_767 * of);
                    assert_eq!(mean.round(sum), divided(sum, of), "{sum} of {of}");
                }
            }
        }
    }

    proptest! {
        #[test]
        fn is_the_quotient(of in 1..=u16::MAX, share in 0.0..=1.0) {
            let lowest = -32_768.0 * f64::from(of);
            let sum = (lowest + share * 65_535.0 * f64::from(of)) as i32;
            prop_assert_eq!(Mean::of(of).round(sum), divided(sum, i32::from(of)));
        }
    }
}
