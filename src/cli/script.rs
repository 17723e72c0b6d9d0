//! `musterbench script`: what a script does, how long it takes, what is wrong with it, and what it finds.

use super::command_result::{CommandResult, Exit, bad_input};
use super::finds;
use super::output;
use super::sheets::Sheets;
use super::shorten;
use crate::plain::plain_lines;
use crate::report::plan_text::plan_text;
use crate::script::check::is_clean;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Say what a script does, how long it takes, and what is wrong with it
    #[command(after_help = super::LOOKED)]
    Check {
        /// The script: a file, or the name of a shipped one
        #[arg(value_name = "FILE")]
        script: String,
        #[command(flatten)]
        sheets: Sheets,
    },
    /// Say which faults a script finds from which severity on, and which of its lines do
    #[command(after_help = super::FOUND)]
    Finds(finds::Given),
    /// Propose a script that finds the same in less time, and prove it
    #[command(after_help = super::SHORTENED)]
    Shorten(shorten::Given),
}

/// Carries the command out.
///
/// # Errors
/// What is wrong with the script or a sheet.
pub fn run(given: &Given) -> CommandResult {
    match &given.what {
        What::Check { script, sheets } => check(script, sheets),
        What::Finds(given) => finds::run(given),
        What::Shorten(given) => shorten::run(given),
    }
}

fn check(script: &str, sheets: &Sheets) -> CommandResult {
    let prepared = sheets.prepare(script)?;
    output::print(&plan_text(&prepared.plan))?;
    let found = prepared.found();
    if is_clean(&prepared.findings) {
        let found = if found.is_empty() { vec!["Nothing is wrong with it.".into()] } else { found };
        output::print(&format!("\n{}\n", plain_lines(&found.join("\n"))))?;
        Ok(Exit::Pass)
    } else {
        Err(bad_input(found.join("\n")))
    }
}
