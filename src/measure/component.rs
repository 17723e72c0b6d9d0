//! One contribution to an uncertainty.
//!
//! Source: JCGM 100:2008 (GUM), 4.2 (type A), 4.3 (type B) and 4.3.7 (rectangular distribution).

use super::source::Source;

/// Fourth cumulant of a rectangular distribution whose standard deviation is 1.
pub const RECTANGLE: f64 = -1.2;

/// One contribution to an uncertainty, its sensitivity coefficient already applied.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    /// Standard uncertainty, in the unit of the result.
    pub standard: f64,
    /// Degrees of freedom; infinite for a limit that is taken as certain.
    pub dof: f64,
    /// Fourth cumulant of its distribution: 0 for a normal one. It tells how rectangular the sum of
    /// several contributions still is.
    pub cumulant: f64,
    /// Where it comes from.
    pub source: Source,
}

impl Component {
    /// A type A contribution.
    pub const fn type_a(standard: f64, dof: f64) -> Self {
        Component { standard, dof, cumulant: 0.0, source: Source::Other }
    }

    /// The same contribution, from a source.
    #[must_use]
    pub const fn from(self, source: Source) -> Self {
        Component { source, ..self }
    }

    /// A quantity known to lie within ± `half_width`, anywhere in it.
    pub fn rectangular(half_width: f64) -> Self {
        let standard = half_width.abs() / 3f64.sqrt();
        Component { cumulant: RECTANGLE * standard.powi(4), ..Component::standard(standard) }
    }

    /// A type B contribution of known standard uncertainty.
    pub const fn standard(standard: f64) -> Self {
        Component::type_a(standard, f64::INFINITY)
    }
}
