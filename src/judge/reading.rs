//! One measured value with unit, uncertainty, limits and verdict.

pub use super::quantity::Quantity;
pub use super::verdict::Verdict;
pub use crate::blame::Blame;

use super::limits_from::LimitsFrom;
use super::remedy::Remedy;
use crate::measure::budget::Budget;
use crate::signal::target::Position;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What stands behind the channel that a reading was taken with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Traceability {
    /// Nothing needs to: times and counts.
    #[default]
    NotNeeded,
    /// The class that the jig states, and no calibration.
    Uncalibrated,
    /// The calibration of this name.
    Calibration(String),
}

/// What is said of a reading without a calibration that would need one.
pub const UNCALIBRATED: &str = "uncalibrated";

impl Traceability {
    /// In a word: empty, [`UNCALIBRATED`], or the calibration's name.
    pub fn word(&self) -> &str {
        match self {
            Traceability::NotNeeded => "",
            Traceability::Uncalibrated => UNCALIBRATED,
            Traceability::Calibration(name) => name,
        }
    }
}

/// On which side of what the jig can tell a true value lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Bound {
    /// It is larger.
    #[serde(rename = "more than")]
    MoreThan,
    /// It is smaller.
    #[serde(rename = "less than")]
    LessThan,
}

impl fmt::Display for Bound {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Bound::MoreThan => "more than",
            Bound::LessThan => "less than",
        })
    }
}

/// A reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Name of the step.
    pub step: String,
    /// Output that it belongs to.
    pub output: Option<u8>,
    /// Position that it belongs to.
    pub position: Option<Position>,
    /// When it was taken: seconds since the run began, by the jig's clock.
    pub time_s: Option<f64>,
    /// What was measured.
    pub quantity: Quantity,
    /// The true value is beyond `value`, which is an end of what the jig can tell; then nothing is
    /// known of the uncertainty.
    pub bound: Option<Bound>,
    /// The value in the quantity's unit; `None` where nothing could be measured (no closure seen).
    pub value: Option<f64>,
    /// Expanded uncertainty, 95 %, same unit.
    pub uncertainty: Option<f64>,
    /// Lower limit, same unit.
    pub lower_limit: Option<f64>,
    /// Upper limit, same unit.
    pub upper_limit: Option<f64>,
    /// The verdict.
    pub verdict: Verdict,
    /// Whose fault, for a reading that does not pass.
    pub blame: Option<Blame>,
    /// What a person should know.
    pub note: String,
    /// What stands behind the channel.
    pub traceability: Traceability,
    /// What the uncertainty is made of, where there is a value.
    pub budget: Option<Budget>,
    /// Where the limits come from, where there are any.
    pub limits_from: Option<LimitsFrom>,
    /// The chance that the verdict is wrong: that the true value is outside though it passes, inside
    /// though it fails. `None` for counts, and where nothing was decided or limited.
    pub risk: Option<f64>,
    /// How far inside its limits the value has to lie to pass, and outside to fail, in its unit: its
    /// expanded uncertainty, zero for simple acceptance. `None` for counts, and where there is no
    /// value or no limit.
    pub guard_band: Option<f64>,
    /// The chance that the true value lies outside the limits, whatever the verdict: the risk of
    /// accepting. `None` as for [`Reading::guard_band`].
    pub outside: Option<f64>,
    /// What would settle it, where its uncertainty straddles a limit.
    pub settled_by: Option<Remedy>,
}

impl Reading {
    /// A reading of which nothing else is known: no value, no limits, no place.
    pub fn bare(step: &str, quantity: Quantity, verdict: Verdict) -> Self {
        Reading {
            step: step.into(),
            output: None,
            position: None,
            time_s: None,
            quantity,
            bound: None,
            value: None,
            uncertainty: None,
            lower_limit: None,
            upper_limit: None,
            verdict,
            blame: None,
            note: String::new(),
            traceability: Traceability::default(),
            budget: None,
            limits_from: None,
            risk: None,
            guard_band: None,
            outside: None,
            settled_by: None,
        }
    }
}
