//! `musterbench script finds`: which faults a script finds from which severity on.

use super::command_result::{CommandResult, Exit};
use super::sheets::Sheets;
use super::{interrupt, output, word};
use crate::finds::depth::Depth;
use crate::finds::survey::survey;
use crate::report::counting::Counting;
use crate::report::finds::{csv, json, text};
use crate::simulated_bench::faults::{Fault, catalogue, find};

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// The script: a file, or the name of a shipped one
    #[arg(value_name = "FILE")]
    script: String,

    #[command(flatten)]
    sheets: Sheets,

    /// Try this fault only (`musterbench faults` lists them); can be given again
    #[arg(long = "fault", value_name = "NAME", value_parser = known)]
    faults: Vec<&'static Fault>,

    /// Draw benches and modules from this number
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = word::seed)]
    seed: u64,

    /// Try everything so many times as often as usual
    #[arg(long, value_name = "TIMES", default_value_t = 1.0, value_parser = deeper)]
    depth: f64,

    /// Print a row for each fault and severity, as CSV, instead
    #[arg(long, conflicts_with = "json")]
    csv: bool,

    /// Print a JSON object instead
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// What is wrong with the script or a sheet.
pub fn run(given: &Given) -> CommandResult {
    let prepared = given.sheets.prepare(&given.script)?;
    prepared.may_be_carried_out()?;
    let stop = interrupt::flag()?;
    let all: Vec<&'static Fault> = catalogue().collect();
    let faults = if given.faults.is_empty() { &all } else { &given.faults };
    let (plan, depth) = (&prepared.plan, Depth::of(&prepared.plan, given.depth));
    let mut bar = Counting::of("runs");
    let found = survey(plan, faults, depth, given.seed, stop, &mut |n, all| bar.at(n, all));
    drop(bar);
    let Some(found) = found else {
        output::tell("stopped: what was tried so far is not enough to tell anything");
        return Ok(Exit::Stopped);
    };
    let told = match (given.csv, given.json) {
        (true, _) => csv::csv(&found),
        (_, true) => json::json(plan, given.seed, &found),
        _ => text::text(plan, given.seed, &found, output::screen()),
    };
    output::print_as(given.csv || given.json, &told)?;
    Ok(Exit::Pass)
}

pub(super) fn known(name: &str) -> Result<&'static Fault, String> {
    find(name).ok_or_else(|| super::fault_choice::unknown(name))
}

fn deeper(text: &str) -> Result<f64, String> {
    let times = text.parse().ok().filter(|times| (0.05..=1000.0).contains(times));
    times.ok_or_else(|| "so many times as often is a number from 0.05 to 1000".into())
}
