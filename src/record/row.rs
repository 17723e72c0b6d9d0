//! A row of a report: one reading, as the CSV file, the journal and `--json` tell it.
//!
//! The fields are the columns, in their order. This is the only list of them.

use super::table::figure;
use crate::judge::reading::{Blame, Reading, Verdict};
use crate::measure::budget::Budget;
use crate::signal::target::Position;
use serde::{Deserialize, Serialize};

/// One reading. What came with later versions is empty in older reports.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Name of the step.
    pub step: String,
    /// Output that it belongs to.
    pub output: Option<u8>,
    /// Position that it belongs to.
    pub position: Option<Position>,
    /// Name of the quantity.
    pub quantity: String,
    /// The value.
    #[serde(deserialize_with = "figure")]
    pub value: Option<f64>,
    /// Its unit.
    pub unit: String,
    /// Expanded uncertainty, 95 %.
    #[serde(deserialize_with = "figure")]
    pub uncertainty: Option<f64>,
    /// Lower limit.
    #[serde(deserialize_with = "figure")]
    pub lower_limit: Option<f64>,
    /// Upper limit.
    #[serde(deserialize_with = "figure")]
    pub upper_limit: Option<f64>,
    /// The verdict.
    pub verdict: Verdict,
    /// Whose fault, where it does not pass.
    pub blame: Option<Blame>,
    /// What a person should know.
    pub note: String,
    /// What stands behind the channel.
    #[serde(default)]
    pub calibration: Option<String>,
    /// What the uncertainty is made of.
    #[serde(default)]
    pub budget: Option<Budget>,
    /// Where the limits come from.
    #[serde(default)]
    pub limits_from: Option<String>,
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
    #[serde(default)]
    pub settled_by: Option<String>,
}

impl Row {
    /// The row of a reading. `amount` writes a value with its unit.
    pub fn of(reading: &Reading, amount: impl Fn(f64, &str) -> String) -> Self {
        let unit = reading.quantity.unit();
        let filled = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        let remedy = reading.settled_by.as_ref();
        Row {
            step: reading.step.clone(),
            output: reading.output,
            position: reading.position,
            quantity: reading.quantity.name().into(),
            value: reading.value,
            unit: unit.into(),
            uncertainty: reading.uncertainty,
            lower_limit: reading.lower_limit,
            upper_limit: reading.upper_limit,
            verdict: reading.verdict,
            blame: reading.blame,
            note: reading.note.clone(),
            calibration: filled(reading.traceability.word()),
            budget: reading.budget,
            limits_from: filled(&reading.limits_from),
            risk: reading.risk,
            guard_band: reading.guard_band,
            outside: reading.outside,
            settled_by: remedy.map(|remedy| remedy.words(|value| amount(value, unit))),
        }
    }

    /// Output and position, as far as it has them: `2b`, `2`, or nothing.
    pub fn place(&self) -> String {
        let output = self.output.map(|output| output.to_string()).unwrap_or_default();
        let position = self.position.map(|position| position.to_string()).unwrap_or_default();
        output + &position
    }
}

/// A value with its unit as it stands in a cell.
pub fn scientific(value: f64, unit: &str) -> String {
    format!("{value:.2e} {unit}")
}
