//! Samples as they come: 16-bit counts of a converter, or values in amperes or volts.
//!
//! What reads a whole record is written once for all of them, over blocks of samples in lanes that
//! a processor works on at once.

/// Samples that are looked at together.
pub const BLOCK: usize = 256;

/// Lanes of a block.
const LANES: usize = 16;
/// Lanes of sums in 64 bits, two of them side by side: as many as fit the registers.
const SUM_LANES: usize = 8;

/// One sample of a waveform.
pub trait Sample: Copy + PartialOrd + 'static {
    /// Its value.
    fn value(self) -> f64;

    /// Whether all samples are numbers.
    fn are_numbers(values: &[Self]) -> bool;

    /// The sum of what the samples lie above `zero`, and the sum of its squares.
    fn sums_above(values: &[Self], zero: Self) -> (f64, f64);
}

impl Sample for i16 {
    fn value(self) -> f64 {
        f64::from(self)
    }

    fn are_numbers(_: &[i16]) -> bool {
        true
    }

    /// Exact: sums of 16-bit counts in 32 bits over a block, their squares in 64 bits; then the zero
    /// is moved.
    fn sums_above(values: &[i16], zero: i16) -> (f64, f64) {
        let (mut sum, mut squares) = (0i64, 0i64);
        for block in values.chunks(BLOCK) {
            let (mut block_sum, mut low, mut high) = (0i32, 0i32, 0i32);
            for &v in block {
                let v = i32::from(v);
                let square = v * v;
                block_sum += v;
                low += square & 0xFFFF;
                high += square >> 16;
            }
            sum += i64::from(block_sum);
            squares += i64::from(low) + (i64::from(high) << 16);
        }
        let (count, zero) = (values.len() as i64, i64::from(zero));
        // (v - zero)^2 = v^2 - 2 zero v + zero^2
        ((sum - count * zero) as f64, (squares - 2 * zero * sum + count * zero * zero) as f64)
    }
}

macro_rules! float {
    ($float:ident) => {
        impl Sample for $float {
            fn value(self) -> f64 {
                f64::from(self)
            }

            fn are_numbers(values: &[$float]) -> bool {
                // What is no number, or infinite, does not become zero when it is taken from itself.
                let (chunks, rest) = values.as_chunks::<LANES>();
                let mut lanes = [0.0; LANES];
                for chunk in chunks {
                    for (lane, v) in lanes.iter_mut().zip(chunk) {
                        *lane += v - v;
                    }
                }
                lanes.iter().all(|lane| *lane == 0.0) && rest.iter().all(|v| v.is_finite())
            }

            fn sums_above(values: &[$float], zero: $float) -> (f64, f64) {
                let zero = f64::from(zero);
                let (chunks, rest) = values.as_chunks::<SUM_LANES>();
                let (mut sums, mut squares) = ([0.0; SUM_LANES], [0.0; SUM_LANES]);
                for chunk in chunks {
                    for i in 0..SUM_LANES {
                        let above = f64::from(chunk[i]) - zero;
                        sums[i] += above;
                        squares[i] += above * above;
                    }
                }
                let (mut sum, mut square) = (sums.iter().sum::<f64>(), squares.iter().sum::<f64>());
                for &v in rest {
                    let above = f64::from(v) - zero;
                    sum += above;
                    square += above * above;
                }
                (sum, square)
            }
        }
    };
}

float!(f32);
float!(f64);

/// The lowest and the highest sample; `None` where there is none.
pub fn extremes<S: Sample>(values: &[S]) -> Option<(S, S)> {
    let first = *values.first()?;
    let (chunks, rest) = values.as_chunks::<LANES>();
    let (mut low, mut high) = ([first; LANES], [first; LANES]);
    for chunk in chunks {
        for i in 0..LANES {
            low[i] = if chunk[i] < low[i] { chunk[i] } else { low[i] };
            high[i] = if chunk[i] > high[i] { chunk[i] } else { high[i] };
        }
    }
    let lower = |a: S, b: S| if b < a { b } else { a };
    let higher = |a: S, b: S| if b > a { b } else { a };
    let (low, high) = (low.into_iter().fold(first, lower), high.into_iter().fold(first, higher));
    Some((rest.iter().copied().fold(low, lower), rest.iter().copied().fold(high, higher)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_is_no_number_is_found_wherever_it_stands() {
        for at in [0, 15, 16, 40] {
            for bad in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
                let mut v = [1.0f32; 41];
                assert!(f32::are_numbers(&v));
                v[at] = bad;
                assert!(!f32::are_numbers(&v), "{bad} at {at}");
            }
        }
    }

    #[test]
    fn sums_of_counts_from_one_end_to_the_other_do_not_overflow() {
        let v = vec![i16::MAX; 1000];
        let (sum, squares) = i16::sums_above(&v, i16::MIN);
        assert_eq!((sum, squares), (65_535e3, 65_535.0 * 65_535e3));
    }

    proptest! {
        #[test]
        fn sums_and_extremes_are_those_of_one_sample_after_the_other(
            v in prop::collection::vec(any::<i16>(), 1..600),
        ) {
            let (zero, floats) = (v[0], v.iter().map(|&v| f64::from(v)).collect::<Vec<_>>());
            let above: Vec<f64> = floats.iter().map(|v| v - floats[0]).collect();
            let wanted = (above.iter().sum::<f64>(), above.iter().map(|a| a * a).sum::<f64>());
            prop_assert_eq!(i16::sums_above(&v, zero), wanted);
            prop_assert_eq!(f64::sums_above(&floats, floats[0]), wanted);
            let ends = (*v.iter().min().unwrap(), *v.iter().max().unwrap());
            prop_assert_eq!(extremes(&v), Some(ends));
            prop_assert_eq!(extremes(&floats), Some((f64::from(ends.0), f64::from(ends.1))));
        }
    }
}
