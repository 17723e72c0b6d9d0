//! `musterbench explain`: what a reading's uncertainty is made of, and where its limits come from.

use super::command_result::{CommandResult, Exit, OrExit, bad_input};
use super::output;
use crate::judge::run_risk::RunRisk;
use crate::plain::plain;
use crate::record::report::{self, ReportRow};
use crate::report::budget_json::budget_json;
use crate::report::budget_text::budget_text;
use crate::report::risk_text;
use std::path::PathBuf;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// The report of a run
    #[arg(value_name = "REPORT.CSV")]
    report: PathBuf,

    /// Row of the reading, as a spreadsheet counts it (the header is row 1), or words of its step
    #[arg(value_name = "ROW|STEP")]
    which: String,

    /// Print a JSON object for each reading
    #[arg(long)]
    json: bool,
}

/// What a report alone does not tell.
const NO_FACTS: &str = "Its facts file is not beside it (run-….facts.json): nobody can say whether it is \
                        whole, what its uncertainties are made of and where its limits come from\n";

/// Carries the command out.
///
/// # Errors
/// When the report cannot be read, or has no such reading.
pub fn run(given: &Given) -> CommandResult {
    let report = report::read(&given.report).or_bad_input()?;
    let facts = &report.facts;
    let chosen = choose(&report.readings, &given.which);
    if chosen.is_empty() {
        let last = report.readings.last().map_or(1, |row| row.number);
        return Err(bad_input(format!(
            "{} has no reading in row \"{}\", and no step of that name: rows go from 2 to {last}",
            given.report.display(),
            given.which
        )));
    }
    if given.json {
        for row in chosen {
            output::data(&budget_json(row, facts.simulated))?;
        }
        return Ok(Exit::Pass);
    }
    let (module, run, jig) = (plain(&facts.module), facts.run, plain(&facts.jig));
    let mut text = format!("Module {module}, run {run}, jig {jig}\n");
    if !report.is_proven {
        text.push_str(NO_FACTS);
    }
    if facts.simulated {
        text.push_str("SIMULATED: no real module was tested\n");
    }
    let mut risk = RunRisk::default();
    for ReportRow { row, .. } in &report.readings {
        risk.take(row.verdict, row.risk, &row.quantity, &row.step);
    }
    text.push_str(&risk_text::lines(&risk));
    let screen = output::screen();
    for row in chosen {
        text.push('\n');
        text.push_str(&budget_text(row, screen));
    }
    output::print(&text)?;
    Ok(Exit::Pass)
}

/// The reading of that row, or the readings of the steps that hold these words.
fn choose<'r>(rows: &'r [ReportRow], which: &str) -> Vec<&'r ReportRow> {
    if let Ok(number) = which.trim().parse::<usize>() {
        return rows.iter().filter(|row| row.number == number).collect();
    }
    let words = which.trim().to_lowercase();
    let is_named =
        |row: &&ReportRow| !words.is_empty() && row.row.step.to_lowercase().contains(&words);
    rows.iter().filter(is_named).collect()
}
