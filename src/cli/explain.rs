//! `musterbench explain`: what a reading's uncertainty is made of, and where its limits come from.

use super::command_result::{CommandResult, Exit, bad_input};
use super::output;
use crate::judge::run_risk::RunRisk;
use crate::record::report_csv::rows;
use crate::record::row::Row;
use crate::report::budget_json::budget_json;
use crate::report::budget_text::budget_text;
use crate::report::plain::plain;
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

/// Carries the command out.
///
/// # Errors
/// When the report cannot be read, or has no such reading.
pub fn run(given: &Given) -> CommandResult {
    let (facts, rows) = rows(&given.report)?;
    let chosen = choose(&rows, &given.which);
    if chosen.is_empty() {
        let last = rows.last().map_or(1, |(number, _)| *number);
        return Err(bad_input(format!(
            "{} has no reading in row \"{}\", and no step of that name: rows go from 2 to {last}",
            given.report.display(),
            given.which
        )));
    }
    if given.json {
        for (number, row) in chosen {
            output::data(&budget_json(*number, row, facts.simulated))?;
        }
        return Ok(Exit::Pass);
    }
    let (module, run, jig) = (plain(&facts.module), facts.run, plain(&facts.jig));
    let mut text = format!("Module {module}, run {run}, jig {jig}\n");
    if facts.simulated {
        text.push_str("SIMULATED: no real module was tested\n");
    }
    let mut risk = RunRisk::default();
    for (_, row) in &rows {
        risk.take(row.verdict, row.risk, &row.quantity, &row.step);
    }
    text.push_str(&risk_text::lines(&risk));
    let screen = output::screen();
    for (number, row) in chosen {
        text.push('\n');
        text.push_str(&budget_text(*number, row, screen));
    }
    output::print(&text)?;
    Ok(Exit::Pass)
}

/// The reading of that row, or the readings of the steps that hold these words.
fn choose<'r>(rows: &'r [(usize, Row)], which: &str) -> Vec<&'r (usize, Row)> {
    if let Ok(number) = which.trim().parse::<usize>() {
        return rows.iter().filter(|(at, _)| *at == number).collect();
    }
    let words = which.trim().to_lowercase();
    let is_named =
        |(_, row): &&(usize, Row)| !words.is_empty() && row.step.to_lowercase().contains(&words);
    rows.iter().filter(is_named).collect()
}
