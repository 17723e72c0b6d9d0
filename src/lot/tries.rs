//! The runs of a module, and what of them counts.

use super::error::LotError;
use crate::judge::quantity::Quantity;
use crate::judge::reading::{Blame, Reading, Verdict};
use crate::judge::roots::roots;
use crate::record::folder::ModuleFolder;
use crate::record::report;
use crate::record::row::Row;
use crate::record::run_record::RunSummary;

/// A run of a module.
#[derive(Clone, Debug, PartialEq)]
pub struct Try {
    /// Its number.
    pub run: u32,
    /// When it began, RFC 3339.
    pub started: String,
    /// The serial number of the jig.
    pub jig: String,
    /// Whether it was on a simulated bench.
    pub simulated: bool,
    /// The script's name.
    pub script: String,
    /// What it showed.
    pub showed: Showed,
    /// What is the matter, in a sentence; `None` where nothing is.
    pub finding: Option<String>,
    /// Where the module answered: its first address, and the format.
    pub found: Option<(u16, String)>,
}

/// What a run showed of the module.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Showed {
    /// Every step passes.
    Passes,
    /// The module is at fault: what, and where.
    AtFault(Symptom),
    /// It fails, and nobody can say why.
    Unsure(Symptom),
    /// Something could not be decided.
    Open,
    /// A setting, a lead, a load or the jig is at fault: to be mended; it says nothing of the module.
    Elsewhere(Blame),
    /// It was stopped, or cut short.
    CutShort,
}

/// What is wrong, and where: two tries with the same symptom have found the same.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Symptom {
    /// The quantity.
    pub quantity: Option<Quantity>,
    /// The outputs.
    pub outputs: Vec<u8>,
}

/// The tries of a module, in the order of their numbers. Roll-calls judge nothing and are none; where real
/// tries are recorded, simulated ones do not count.
///
/// # Errors
/// When the records cannot be read.
pub fn tries(folder: &ModuleFolder) -> Result<Vec<Try>, LotError> {
    let mut tries = Vec::new();
    for run in folder.reports()? {
        let path = folder.report(run);
        let summary = report::summary(&path)?;
        if summary.is_roll_call() {
            continue;
        }
        let showed = if summary.is_cut_short() {
            Showed::CutShort
        } else {
            match summary.verdict {
                Verdict::Pass => Showed::Passes,
                Verdict::Indeterminate => Showed::Open,
                Verdict::Fail => {
                    failed(&summary, || Ok(symptom(&report::read_values(&path)?.readings)))?
                }
            }
        };
        tries.push(Try {
            run,
            found: summary.facts.address_found.zip(summary.facts.command_format_found),
            started: summary.facts.started,
            jig: summary.facts.jig,
            simulated: summary.facts.simulated,
            script: summary.facts.script,
            showed,
            finding: summary.finding.filter(|_| summary.verdict != Verdict::Pass),
        });
    }
    if tries.iter().any(|one| !one.simulated) {
        tries.retain(|one| !one.simulated);
    }
    Ok(tries)
}

fn failed(
    summary: &RunSummary,
    symptom: impl FnOnce() -> Result<Symptom, LotError>,
) -> Result<Showed, LotError> {
    Ok(match summary.blame {
        Some(Blame::Module) => Showed::AtFault(symptom()?),
        Some(Blame::Unsure) | None => Showed::Unsure(symptom()?),
        Some(elsewhere) => Showed::Elsewhere(elsewhere),
    })
}

/// The first of what does not follow from something else.
fn symptom(rows: &[report::ReportRow]) -> Symptom {
    let readings: Vec<Reading> = rows
        .iter()
        .filter(|read| read.row.verdict == Verdict::Fail)
        .filter_map(|read| reading(&read.row))
        .collect();
    let roots = roots(&readings);
    roots.first().map_or_else(Symptom::default, |root| Symptom {
        quantity: Some(root.worst.quantity),
        outputs: root.outputs.clone(),
    })
}

fn reading(row: &Row) -> Option<Reading> {
    let quantity = Quantity::named(&row.quantity)?;
    Some(Reading {
        output: row.output,
        position: row.position,
        value: row.value,
        lower_limit: row.lower_limit,
        upper_limit: row.upper_limit,
        note: row.note.clone(),
        ..Reading::bare(&row.step, quantity, row.verdict)
    })
}
