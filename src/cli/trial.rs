//! `musterbench trial`: how good the bench is, from the reports of several modules, passes and
//! operators.

use super::command_result::{CommandResult, OrExit};
use super::output;
use crate::report::trial_text;
use crate::trial::{judged, read, study};
use std::path::PathBuf;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Reports: several modules, each tested several times, by several operators
    #[arg(required = true, value_name = "REPORT.csv")]
    reports: Vec<PathBuf>,

    /// Look at one quantity only, such as load_current
    #[arg(long, value_name = "Q")]
    quantity: Option<String>,

    /// Print a JSON object instead of text
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// When a report cannot be read, or the reports make no study.
pub fn run(given: &Given) -> CommandResult {
    let reports = given
        .reports
        .iter()
        .map(|path| read::report(path).map(|report| (path.clone(), report)))
        .collect::<Result<Vec<_>, _>>()
        .or_bad_input()?;
    let study = study::study(&reports, given.quantity.as_deref()).or_bad_input()?;
    let judged = judged::all(&study);
    let text = if given.json {
        trial_text::json(&study, &judged)
    } else {
        trial_text::text(&study, &judged, output::screen())
    };
    output::print_as(given.json, &text)?;
    Ok(judged::verdict(&judged).into())
}
