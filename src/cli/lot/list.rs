//! `musterbench lot list`: lists the lots.

use super::which::{Records, all};
use crate::cli::command_result::{CommandResult, Exit};
use crate::cli::output;
use crate::report::lot_json::lots_json;
use crate::report::lot_text::lots;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    records: Records,

    /// Print a JSON object instead
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// When the records cannot be read.
pub fn run(given: &Given) -> CommandResult {
    let found = all(&given.records.path)?;
    let text = if given.json { lots_json(&found) } else { lots(&found, output::screen()) };
    output::print_as(given.json, &text)?;
    Ok(Exit::Pass)
}
