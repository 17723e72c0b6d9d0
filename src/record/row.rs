//! A row of a report: one reading, as the CSV file, the journal and `--json` tell it.
//!
//! The fields are the columns, in their order. This is the only list of them.

use super::digits::rounded;
use super::table::figure;
use crate::judge::limits_from::LimitsFrom;
use crate::judge::reading::{Blame, Bound, Reading, Verdict};
use crate::measure::budget::Budget;
use crate::signal::target::Position;
use serde::{Deserialize, Serialize};

/// One reading.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Name of the step.
    pub step: String,
    /// Seconds since the run began, by the jig's clock.
    #[serde(default, deserialize_with = "figure")]
    pub time: Option<f64>,
    /// Output that it belongs to.
    pub output: Option<u8>,
    /// Position that it belongs to.
    pub position: Option<Position>,
    /// What the output is for. Reserved.
    pub style: Option<String>,
    /// Name of the quantity.
    pub quantity: String,
    /// Whether the true value is beyond `value`, and on which side.
    pub bound: Option<Bound>,
    /// The value.
    #[serde(default, deserialize_with = "figure")]
    pub value: Option<f64>,
    /// Its unit.
    pub unit: String,
    /// Expanded uncertainty, 95 %.
    #[serde(default, deserialize_with = "figure")]
    pub uncertainty: Option<f64>,
    /// Lower limit.
    #[serde(default, deserialize_with = "figure")]
    pub lower_limit: Option<f64>,
    /// Upper limit.
    #[serde(default, deserialize_with = "figure")]
    pub upper_limit: Option<f64>,
    /// The verdict.
    pub verdict: Verdict,
    /// Whose fault, where it does not pass.
    pub blame: Option<Blame>,
    /// What a person should know.
    pub note: String,
    /// What stands behind the channel.
    pub calibration: Option<String>,
    /// The chance that the verdict is wrong.
    #[serde(default, deserialize_with = "figure")]
    pub risk: Option<f64>,
    /// How far inside its limits the value has to lie to pass.
    #[serde(default, deserialize_with = "figure")]
    pub guard_band: Option<f64>,
    /// The chance that the true value lies outside the limits.
    #[serde(default, deserialize_with = "figure")]
    pub outside: Option<f64>,
    /// What would settle it.
    pub settled_by: Option<String>,
    /// How often it was repeated. Reserved.
    pub repeats: Option<u32>,
    /// How many of these did not pass. Reserved.
    pub repeats_failed: Option<u32>,
    /// Standard deviation of the repeats. Reserved.
    #[serde(default, deserialize_with = "figure")]
    pub spread: Option<f64>,
    /// How much it drifts from the first repeat to the last. Reserved.
    #[serde(default, deserialize_with = "figure")]
    pub drift: Option<f64>,
    /// Expanded uncertainty of the drift. Reserved.
    #[serde(default, deserialize_with = "figure")]
    pub drift_uncertainty: Option<f64>,
}

impl Row {
    /// The row of a reading.
    pub fn of(reading: &Reading) -> Self {
        let unit = reading.quantity.unit();
        let uncertainty = reading.uncertainty;
        let kept = |value: Option<f64>| {
            value.filter(|v| v.is_finite()).map(|value| rounded(value, uncertainty))
        };
        let amount = |value: f64| format!("{value:.2e} {unit}");
        Row {
            step: reading.step.clone(),
            time: reading.time_s.map(|time_s| rounded(time_s, Some(TIME_GRAIN_S))),
            output: reading.output,
            position: reading.position,
            style: None,
            quantity: reading.quantity.name().into(),
            bound: reading.bound,
            value: kept(reading.value),
            unit: unit.into(),
            uncertainty: kept(uncertainty),
            lower_limit: kept(reading.lower_limit),
            upper_limit: kept(reading.upper_limit),
            verdict: reading.verdict,
            blame: reading.blame,
            note: reading.note.clone(),
            calibration: Some(reading.traceability.word())
                .filter(|w| !w.is_empty())
                .map(Into::into),
            risk: reading.risk,
            guard_band: kept(reading.guard_band),
            outside: reading.outside,
            settled_by: reading.settled_by.as_ref().map(|remedy| remedy.words(amount)),
            repeats: None,
            repeats_failed: None,
            spread: None,
            drift: None,
            drift_uncertainty: None,
        }
    }

    /// Output and position, as far as it has them: `2b`, `2`, or nothing.
    pub fn place(&self) -> String {
        let output = self.output.map(|output| output.to_string()).unwrap_or_default();
        let position = self.position.map(|position| position.to_string()).unwrap_or_default();
        output + &position
    }
}

/// The jig's clock counts microseconds: a thousandth of this.
const TIME_GRAIN_S: f64 = 1e-3;

/// What stands behind a reading and is no value of its own: for the facts file.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
pub struct Background {
    /// What the uncertainty is made of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub budget: Option<Budget>,
    /// Where the limits come from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits_from: Option<LimitsFrom>,
}

impl Background {
    /// That of a reading. A count has no budget.
    pub fn of(reading: &Reading) -> Self {
        let budget = reading.budget.filter(|budget| budget.lines().next().is_some());
        Background { budget, limits_from: reading.limits_from.clone() }
    }
}

/// All that is kept of a reading.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KeptReading {
    /// Its row in the report.
    #[serde(flatten)]
    pub row: Row,
    /// What stands behind it.
    pub background: Background,
}

impl KeptReading {
    /// What is kept of a reading.
    pub fn of(reading: &Reading) -> Self {
        KeptReading { row: Row::of(reading), background: Background::of(reading) }
    }

    /// As JSON, without what is empty: a journal is to be small.
    ///
    /// # Errors
    /// Never: it is a struct of numbers and texts.
    pub fn to_json(&self) -> serde_json::Result<Vec<u8>> {
        let mut value = serde_json::to_value(self)?;
        if let Some(fields) = value.as_object_mut() {
            fields.retain(|_, field| !field.is_null());
        }
        serde_json::to_vec(&value)
    }
}
