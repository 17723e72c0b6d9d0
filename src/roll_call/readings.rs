//! What a roll-call found as readings, one an output, for the record.

use super::answer::{RollCall, Row};
use crate::judge::reading::{Blame, Quantity, Reading, Verdict};
use crate::script::module_sheet::ModuleSheet;

/// What stands in the record where a script's name does.
pub const SCRIPT: &str = "roll-call";

/// Whether each output answers, and where. Without an address that somebody wants nothing of it is judged.
pub fn readings(roll: &RollCall, sheet: &ModuleSheet) -> Vec<Reading> {
    let blame = if roll.own().is_some() { Blame::Setting } else { Blame::Unsure };
    let reading = |row: &Row<'_>| {
        let verdict = if roll.wanted { row.verdict } else { Verdict::Indeterminate };
        let note = row.found.map(|answer| match answer.target.address(sheet.numbering) {
            Some(address) => format!("it answers at {address} {}", answer.target.format),
            None => {
                format!("it answers in group {} {}", answer.target.group(), answer.target.format)
            }
        });
        Reading {
            output: Some(row.output),
            value: Some(f64::from(u8::from(row.found.is_some()))),
            lower_limit: roll.wanted.then_some(1.0),
            blame: (verdict == Verdict::Fail).then_some(blame),
            note: note.unwrap_or_else(|| "it answers nowhere".into()),
            time_s: Some(roll.took.as_secs_f64()),
            ..Reading::bare(SCRIPT, Quantity::Answers, verdict)
        }
    };
    roll.rows().iter().map(reading).collect()
}
