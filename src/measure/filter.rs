//! The filter before a converter: what all that is read of a jump knows of it.

/// Its time constant, seconds (`docs/jig-analogue.md`).
pub const FILTER_S: f64 = 16e-6;
