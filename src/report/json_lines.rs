//! A run as JSON, one object a line, for other programs.
//!
//! A reading's line comes only after its step ended, and so after the record made it durable: what
//! was told this way is in the report, whatever happens later.

use super::finding::Finding;
use crate::judge::reading::{Blame, Reading};
use crate::judge::risk::three_digits;
use crate::record::facts::Facts;
use crate::record::row::Row;
use crate::run::event::{Ending, Outcome};
use crate::run::suspects::Suspects;
use serde::Serialize;
use std::path::Path;

/// A run that began.
#[derive(Clone, Debug, Serialize)]
pub struct Began<'a> {
    /// What is true of the whole run.
    #[serde(flatten)]
    pub facts: &'a Facts,
    /// The jig's calibration, where it has one.
    pub calibration: Option<&'a str>,
    /// How many days ago the oldest of its channels was calibrated.
    pub calibration_days: Option<u32>,
    /// Whether that is longer than the script allows.
    pub calibration_too_old: Option<bool>,
}

/// One line.
#[derive(Debug, Serialize)]
#[serde(tag = "event", rename_all = "lowercase")]
enum Line<'a> {
    Began(&'a Began<'a>),
    Reading(&'a Row),
    Ended {
        simulated: Option<bool>,
        ending: &'a str,
        reason: Option<&'a str>,
        verdict: String,
        blame: Option<String>,
        readings: usize,
        failed: usize,
        indeterminate: usize,
        accepting_risk: Option<f64>,
        rejecting_risk: Option<f64>,
        report: Option<String>,
        finding: &'a str,
        to_do: &'a str,
        suspects: Option<&'a Suspects>,
    },
}

impl Line<'_> {
    fn text(&self) -> String {
        // Strings and numbers only: cannot fail.
        let mut text = serde_json::to_string(self).unwrap_or_default();
        text.push('\n');
        text
    }
}

fn name(blame: Option<Blame>) -> Option<String> {
    blame.map(|b| b.to_string())
}

/// The line of a run that began.
pub fn began(run: &Began<'_>) -> String {
    Line::Began(run).text()
}

/// The line of a reading.
pub fn reading(reading: &Reading) -> String {
    Line::Reading(&Row::of(reading)).text()
}

/// The line of a run that is over. `simulated` is unknown when the jig never answered.
pub fn ended(
    outcome: &Outcome,
    finding: &Finding,
    simulated: Option<bool>,
    report: Option<&Path>,
) -> String {
    let (ending, reason) = match &outcome.ending {
        Ending::Complete => ("complete", None),
        Ending::EndedEarly(why) => ("ended_early", Some(why.as_str())),
        Ending::Stopped => ("stopped", None),
        Ending::BenchTrouble(why) => ("trouble", Some(why.as_str())),
        Ending::Unrecorded(why) => ("unrecorded", Some(why.as_str())),
    };
    Line::Ended {
        simulated,
        ending,
        reason,
        verdict: outcome.verdict.to_string(),
        blame: name(outcome.blame),
        readings: outcome.readings,
        failed: outcome.failed,
        indeterminate: outcome.indeterminate,
        accepting_risk: outcome.risk.of_accepting().map(three_digits),
        rejecting_risk: outcome.risk.of_rejecting().map(three_digits),
        report: report.map(|path| path.display().to_string()),
        finding: &finding.sentence,
        to_do: &finding.to_do,
        suspects: outcome.suspects.as_ref(),
    }
    .text()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::reading::{Quantity, Traceability, Verdict};

    #[test]
    fn lines_are_whole_objects() {
        let one = Reading {
            value: Some(0.0175),
            time_s: Some(0.25),
            upper_limit: Some(0.02),
            traceability: Traceability::Uncalibrated,
            risk: Some(0.0125),
            ..Reading::bare("feed on\u{1b}[2J", Quantity::StartCharge, Verdict::Pass)
        };
        insta::assert_snapshot!(reading(&one));
    }
}
