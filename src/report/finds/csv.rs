//! A row for each fault at each severity.

use crate::blame::Blame;
use crate::finds::severities::{AtSeverity, Searched};
use crate::finds::survey::Survey;
use serde::Serialize;

#[derive(Serialize)]
struct Row<'a> {
    simulated: bool,
    fault: &'a str,
    class: Blame,
    severity: f64,
    unit: &'a str,
    runs: u32,
    found: u32,
    share_least: f64,
    share_most: f64,
    open: u32,
    blamed: u32,
    blamed_right: u32,
}

/// The rows, with their heads.
pub fn csv(survey: &Survey) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for searched in &survey.searched {
        for at in &searched.tried {
            // Writing to memory cannot fail.
            let _ = writer.serialize(row(searched, at));
        }
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

fn row<'a>(searched: &Searched, at: &AtSeverity) -> Row<'a> {
    let (share_least, share_most) = at.found.interval();
    Row {
        simulated: true,
        fault: searched.fault.name,
        class: searched.fault.class,
        severity: at.severity,
        unit: searched.fault.unit,
        runs: at.found.runs,
        found: at.found.of,
        share_least,
        share_most,
        open: at.open,
        blamed: at.blamed.runs,
        blamed_right: at.blamed.of,
    }
}
