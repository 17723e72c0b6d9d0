//! `musterbench script check`: what a script does, how long it takes, and what is wrong with it.

use super::ending::{Ended, Ending, OrEnd};
use super::output;
use super::sheets::Sheets;
use crate::report::plan_text::plan_text;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Say what a script does, how long it takes, and what is wrong with it
    Check {
        /// The script: a file, or the name of a shipped one
        #[arg(value_name = "FILE")]
        script: String,
        #[command(flatten)]
        sheets: Sheets,
    },
}

/// Carries the command out.
///
/// # Errors
/// What is wrong with the script or a sheet.
pub fn run(given: &Given) -> Ended {
    let What::Check { script, sheets } = &given.what;
    let plan = sheets.plan(script).or_bad_input()?;
    output::print(&plan_text(&plan))?;
    Ok(Ending::Pass)
}
