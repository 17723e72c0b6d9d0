//! Values to be set, and the words that stand for one.

use super::error::{Error, ErrorCode};
use core::ops::RangeInclusive;

/// The words that stand for an end of a range, or for what holds after boot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// `MINimum`.
    Minimum,
    /// `MAXimum`.
    Maximum,
    /// `DEFault`.
    Default,
}

impl Bound {
    /// The words.
    pub const WORDS: [(&'static str, Bound); 3] =
        [("MINimum", Bound::Minimum), ("MAXimum", Bound::Maximum), ("DEFault", Bound::Default)];

    /// The word for this one.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize].0
    }

    /// The number meant.
    pub fn of<T: Copy>(self, range: &RangeInclusive<T>, default: T) -> T {
        match self {
            Bound::Minimum => *range.start(),
            Bound::Maximum => *range.end(),
            Bound::Default => default,
        }
    }
}

/// A value to be set, or a word that stands for one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Setting<T> {
    /// The value itself.
    Value(T),
    /// A word.
    Bound(Bound),
}

impl<T: PartialOrd + Copy> Setting<T> {
    /// The value meant.
    ///
    /// # Errors
    /// -222 where it is out of the range.
    pub fn resolve(self, range: &RangeInclusive<T>, default: T) -> Result<T, Error> {
        match self {
            Setting::Bound(bound) => Ok(bound.of(range, default)),
            Setting::Value(value) if range.contains(&value) => Ok(value),
            Setting::Value(_) => Err(ErrorCode::DataOutOfRange.into()),
        }
    }
}
