//! All that is recorded of one run, and how it is told: as a report, as facts, in short.

use super::facts::Facts;
use super::row::{Background, KeptReading, Row};
use super::table;
use crate::judge::reading::{Blame, Verdict};
use crate::judge::summary::Summary as Tally;
use crate::procedure::self_test::SelfTest;
use crate::quantity::origin::hexadecimal;
use crate::run::suspects::Suspects;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RunEnding {
    /// Every step was carried out.
    Complete,
    /// What was read forbade to go on, before the last step.
    EndedEarly,
    /// Stopped by the operator.
    Stopped,
    /// The bench failed.
    Trouble,
    /// The program ended before the run did.
    CutOff,
    /// What was read is not all readable any more.
    Damaged,
}

/// What a plan asks for.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
pub struct Planned {
    /// How many steps.
    pub steps: usize,
    /// Their own time, in seconds.
    pub seconds: f64,
}

/// How a run came out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Closing {
    /// The verdict on the module.
    pub verdict: Verdict,
    /// Whose fault, when it does not pass.
    pub blame: Option<Blame>,
    /// How it ended.
    pub ending: RunEnding,
    /// Why, where it was cut short.
    pub reason: Option<String>,
    /// How many steps were carried out.
    pub steps: usize,
    /// At most so likely any of the passes is wrong.
    pub accepting_risk: Option<f64>,
    /// At most so likely all of the fails are.
    pub rejecting_risk: Option<f64>,
    /// What is the matter, in a sentence.
    #[serde(default)]
    pub finding: Option<String>,
    /// What is suspected, where somebody has looked into it.
    #[serde(default)]
    pub suspects: Option<Suspects>,
    /// The first address that the module was seen to answer at.
    pub address_found: Option<u16>,
    /// The command format that it was seen to answer in.
    pub command_format_found: Option<String>,
    /// The kind that it was found to be of, where that was looked for, its sheet and the digest of that.
    #[serde(default)]
    pub kind_found: Option<[String; 3]>,
}

impl Closing {
    /// The closing of a run that did not come to its end; it never passes.
    pub fn cut_short(tally: &Tally, ending: RunEnding, reason: &str) -> Self {
        Closing {
            verdict: tally.verdict(false),
            blame: tally.blame(),
            ending,
            reason: Some(reason.into()),
            steps: 0,
            accepting_risk: None,
            rejecting_risk: None,
            finding: None,
            suspects: None,
            address_found: None,
            command_format_found: None,
            kind_found: None,
        }
    }
}

/// All that is recorded of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct RunRecord {
    /// What is true of all of it.
    pub facts: Facts,
    /// What the plan asks for.
    pub planned: Planned,
    /// What the jig said of itself before it began; `None` in older records.
    pub self_test: Option<SelfTest>,
    /// Its readings, in order.
    pub readings: Vec<KeptReading>,
    /// How it came out.
    pub closing: Closing,
}

/// A line of the report.
#[derive(Serialize)]
struct Line<'a> {
    #[serde(flatten)]
    facts: &'a Facts,
    #[serde(flatten)]
    row: &'a Row,
}

/// The columns of a report.
pub fn columns() -> Vec<String> {
    table::columns(&Line { facts: &Facts::default(), row: &any_row() })
}

fn any_row() -> Row {
    use crate::judge::reading::{Quantity, Reading};
    Row::of(&Reading::bare("", Quantity::UnwantedMoves, Verdict::Pass))
}

/// Counts readings.
pub fn tally(readings: &[KeptReading]) -> Tally {
    let mut tally = Tally::default();
    readings.iter().for_each(|reading| tally.count(reading.row.verdict, reading.row.blame));
    tally
}

impl RunRecord {
    /// What is true of all of the run, with what was found in it.
    fn all_facts(&self) -> Facts {
        let mut facts = Facts {
            address_found: self.closing.address_found,
            command_format_found: self.closing.command_format_found.clone(),
            ..self.facts.clone()
        };
        if let Some([kind, sheet, digest]) = &self.closing.kind_found {
            facts.kind = Some(kind.clone());
            facts.module_sheet = Some(sheet.clone());
            facts.module_sheet_digest = Some(digest.clone());
        }
        facts
    }

    /// The report: a header, and a row a reading.
    pub fn report(&self) -> Vec<u8> {
        let facts = self.all_facts();
        let mut report = table::line(columns());
        for reading in &self.readings {
            report.extend(table::row_line(&Line { facts: &facts, row: &reading.row }));
        }
        report
    }

    /// The facts file that goes with a report.
    pub fn facts_file(&self, report: &[u8]) -> FactsFile {
        let tally = tally(&self.readings);
        let likeliest = self.closing.suspects.as_ref().and_then(|suspects| suspects.all.first());
        let Closing { verdict, blame, ending, reason, steps, .. } = self.closing.clone();
        let background = |(at, reading): (usize, &KeptReading)| RowBackground {
            // The header is row 1.
            row: at + 2,
            background: reading.background.clone(),
        };
        FactsFile {
            summary: RunSummary {
                facts: self.all_facts(),
                planned: self.planned.clone(),
                ending,
                reason,
                steps,
                verdict,
                blame,
                readings: tally.readings,
                failed: tally.failed,
                indeterminate: tally.indeterminate,
                accepting_risk: self.closing.accepting_risk,
                rejecting_risk: self.closing.rejecting_risk,
                finding: self.closing.finding.clone(),
                suspect: likeliest.map(|suspect| suspect.cause.clone()),
                suspect_probability: likeliest.map(|suspect| suspect.probability),
                report_sha256: sha256(report),
                facts_sha256: None,
            },
            self_test: self.self_test.clone(),
            suspects: self.closing.suspects.clone(),
            background: self.readings.iter().enumerate().map(background).collect(),
        }
    }
}

/// The digest of a file.
pub fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// A run in short.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunSummary {
    /// What is true of all of it.
    pub facts: Facts,
    /// What the plan asked for.
    pub planned: Planned,
    /// How it ended.
    pub ending: RunEnding,
    /// Why, where it was cut short.
    pub reason: Option<String>,
    /// How many steps were carried out.
    pub steps: usize,
    /// The verdict on the module.
    pub verdict: Verdict,
    /// Whose fault, when it does not pass.
    pub blame: Option<Blame>,
    /// How many readings there are.
    pub readings: usize,
    /// How many of them fail.
    pub failed: usize,
    /// How many are indeterminate.
    pub indeterminate: usize,
    /// At most so likely any of the passes is wrong.
    pub accepting_risk: Option<f64>,
    /// At most so likely all of the fails are.
    pub rejecting_risk: Option<f64>,
    /// What is the matter, in a sentence; none of a run that passes or was cut off.
    pub finding: Option<String>,
    /// The likeliest cause, where somebody has looked into it.
    pub suspect: Option<String>,
    /// Its probability.
    pub suspect_probability: Option<f64>,
    /// The SHA-256 of the report.
    pub report_sha256: String,
    /// That of the facts file itself, where there is one.
    #[serde(skip)]
    pub facts_sha256: Option<String>,
}

impl RunSummary {
    /// Whether it only asked where the module answers, and judged nothing else.
    pub fn is_roll_call(&self) -> bool {
        self.facts.script == crate::roll_call::readings::SCRIPT
    }

    /// Whether it came to its end.
    pub fn is_cut_short(&self) -> bool {
        !matches!(self.ending, RunEnding::Complete | RunEnding::EndedEarly)
    }

    /// How it ended, in words: `complete`, or that it was cut short and why.
    pub fn ending_in_words(&self) -> String {
        match (self.ending, &self.reason) {
            (RunEnding::Complete, _) => "complete".into(),
            (RunEnding::EndedEarly, why) => {
                let why = why.as_ref().map(|why| format!(": {why}")).unwrap_or_default();
                format!("ended early, after {} of {} steps{why}", self.steps, self.planned.steps)
            }
            (RunEnding::Stopped, _) => "cut short: stopped by the operator".into(),
            (_, Some(reason)) => format!("cut short: {reason}"),
            (_, None) => "cut short".into(),
        }
    }
}

/// What stands behind the reading of a row.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RowBackground {
    /// The row, as a spreadsheet counts it: the header is row 1.
    pub row: usize,
    /// What stands behind it.
    #[serde(flatten)]
    pub background: Background,
}

/// What stands beside a report: the proof that it is whole, and what is no value of its own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FactsFile {
    /// The run in short.
    #[serde(flatten)]
    pub summary: RunSummary,
    /// What the jig said of itself before the run began.
    #[serde(default)]
    pub self_test: Option<SelfTest>,
    /// What is suspected, where somebody has looked into it.
    #[serde(default)]
    pub suspects: Option<Suspects>,
    /// What stands behind the readings, in the order of the rows.
    pub background: Vec<RowBackground>,
}

impl FactsFile {
    /// As JSON: the run in short for people to read, then a line a reading.
    pub fn to_json(&self) -> Vec<u8> {
        // Structs of numbers and texts: cannot fail.
        let summary = serde_json::to_string_pretty(&self.summary).unwrap_or_default();
        let lines: Vec<String> = self
            .background
            .iter()
            .map(|behind| serde_json::to_string(behind).unwrap_or_default())
            .collect();
        let open = summary.trim_end_matches('}').trim_end();
        let lines = lines.join(",\n    ");
        let self_test = serde_json::to_string(&self.self_test).unwrap_or_default();
        let suspects = serde_json::to_string(&self.suspects).unwrap_or_default();
        format!(
            "{open},\n  \"self_test\": {self_test},\n  \"suspects\": {suspects},\n  \"background\": [\n    {lines}\n  ]\n}}\n"
        )
        .into_bytes()
    }
}
