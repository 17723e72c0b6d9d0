//! Which currents a jig tells from nothing.

/// A current that could be nothing, in limits of the channel's offset; leakage is part of that.
const OFFSETS: f64 = 3.0;
/// A load tells by its current whether a contact is closed where it draws so many times as much.
const TOLD: f64 = 2.0;

/// What the plans of the jig state of the current at a clamp: limit of its offset, amperes.
pub const PLANNED_OFFSET_A: f64 = 0.000_5;

/// The largest current that could be nothing, by the limit of a channel's offset, amperes.
pub fn could_be_nothing(offset_a: f64) -> f64 {
    OFFSETS * offset_a
}

/// The smallest current that a channel surely tells from nothing, amperes.
pub fn least_told(offset_a: f64) -> f64 {
    TOLD * could_be_nothing(offset_a)
}
