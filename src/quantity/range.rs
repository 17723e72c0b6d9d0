//! A quantity with its limits.

/// Limits on a quantity; a side that is `None` is not limited.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits<Q> {
    /// Lowest value allowed.
    pub lower: Option<Q>,
    /// Highest value allowed.
    pub upper: Option<Q>,
}

/// A nominal value with a tolerance (`"16 V ±5 %"`).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Toleranced<Q> {
    /// The nominal value.
    pub nominal: Q,
    /// Lowest value within the tolerance.
    pub lower: Q,
    /// Highest value within the tolerance.
    pub upper: Q,
}
