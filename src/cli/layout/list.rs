//! `musterbench layout list`: the modules of the address plan.

use super::plan_file::{PlanFile, entry};
use crate::cli::command_result::{CommandResult, Exit};
use crate::cli::output;
use crate::report::planned_modules::{Entry, json, planned_modules};

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    plan: PlanFile,

    /// Print a JSON array instead
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// When something in the file cannot be understood.
pub fn run(given: &Given) -> CommandResult {
    let plan = given.plan.read()?.sound()?;
    let entries: Vec<Entry> = plan.modules.iter().map(entry).collect();
    output::print_as(
        given.json,
        &if given.json { json(&entries) } else { planned_modules(&entries, output::screen()) },
    )?;
    Ok(Exit::Pass)
}
