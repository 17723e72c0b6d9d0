//! All that was found as one line of JSON.

use crate::blame::Blame;
use crate::finds::severities::{FoundFrom, Searched};
use crate::finds::share::Share;
use crate::finds::survey::Survey;
use crate::script::plan::Plan;
use serde::Serialize;

#[derive(Serialize)]
struct Line<'a> {
    simulated: bool,
    script: &'a str,
    module: &'a str,
    seed: u64,
    runs: usize,
    sound_failed: Share,
    sound_open: Share,
    sound_trouble: Share,
    faults: Vec<Fault<'a>>,
    no_place: Vec<&'a str>,
    lines: Vec<ScriptLine<'a>>,
}

#[derive(Serialize)]
struct Fault<'a> {
    fault: &'a str,
    class: Blame,
    unit: &'a str,
    found_from: Option<f64>,
    found_from_mildest: Option<f64>,
    found_from_worst: Option<f64>,
    found_until: Option<f64>,
    at_worst: Share,
    blamed_right: Share,
    told_by: Option<Told>,
    tried: Vec<Tried>,
}

#[derive(Serialize)]
struct Told {
    quantity: String,
    unit: &'static str,
    value: Option<f64>,
    limit: Option<f64>,
}

#[derive(Serialize)]
struct Tried {
    severity: f64,
    found: Share,
    open: u32,
}

#[derive(Serialize)]
struct ScriptLine<'a> {
    line: usize,
    does: &'a str,
    costs_s: f64,
    finds: Vec<OfRuns<'a>>,
    alone: Vec<OfRuns<'a>>,
}

#[derive(Serialize)]
struct OfRuns<'a> {
    fault: &'a str,
    share: f64,
}

/// The line, ended.
pub fn json(plan: &Plan, seed: u64, survey: &Survey) -> String {
    let shares = |shares: &[(&'static str, f64)]| {
        shares.iter().map(|&(fault, share)| OfRuns { fault, share }).collect()
    };
    let line = Line {
        simulated: true,
        script: &plan.script,
        module: &plan.module.kind,
        seed,
        runs: survey.runs,
        sound_failed: survey.sound.failed,
        sound_open: survey.sound.open,
        sound_trouble: survey.sound.trouble,
        faults: survey.searched.iter().map(fault).collect(),
        no_place: survey.elsewhere.iter().map(|fault| fault.name).collect(),
        lines: survey
            .lines
            .iter()
            .map(|line| ScriptLine {
                line: line.line,
                does: &line.words,
                costs_s: line.costs.as_secs_f64(),
                finds: shares(&line.finds),
                alone: shares(&line.alone),
            })
            .collect(),
    };
    // Strings and numbers only: cannot fail.
    serde_json::to_string(&line).unwrap_or_default() + "\n"
}

fn fault(searched: &Searched) -> Fault<'_> {
    let [found_from, found_from_mildest, found_from_worst, found_until] = match searched
        .found_from()
    {
        FoundFrom::Severity { severity, mildest, worst, until } => {
            [Some(severity), Some(mildest), Some(worst), until]
        }
        FoundFrom::TheMildest(severity) => [Some(severity), Some(severity), Some(severity), None],
        FoundFrom::Never => [None; 4],
    };
    Fault {
        fault: searched.fault.name,
        class: searched.fault.class,
        unit: searched.fault.unit,
        found_from,
        found_from_mildest,
        found_from_worst,
        found_until,
        at_worst: searched.at_worst(),
        blamed_right: searched.blamed(),
        told_by: searched.told_by().map(|told| Told {
            quantity: told.quantity.to_string(),
            unit: told.quantity.unit(),
            value: told.value,
            limit: told.limit,
        }),
        tried: searched
            .tried
            .iter()
            .map(|at| Tried { severity: at.severity, found: at.found, open: at.open })
            .collect(),
    }
}
