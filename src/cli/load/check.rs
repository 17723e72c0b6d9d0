//! `musterbench load check`: what the loads of a sheet must draw.

use crate::cli::command_result::{CommandResult, Exit, OrExit};
use crate::cli::output;
use crate::report::load_windows;
use crate::script::shipped;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// The load sheet: a file, or the name of a shipped one
    #[arg(value_name = "FILE")]
    sheet: String,

    /// Say of each end of a window which inputs make it, and by how much
    #[arg(long)]
    why: bool,

    /// Print a JSON object instead of text
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// What is wrong with the sheet.
pub fn run(given: &Given) -> CommandResult {
    let sheet = shipped::load_sheet(&given.sheet).or_bad_input()?;
    output::print_as(
        given.json,
        &if given.json {
            load_windows::json(&sheet)
        } else {
            load_windows::text(&sheet, given.why, output::screen())
        },
    )?;
    Ok(Exit::Pass)
}
