//! `musterbench layout check`: everything that is wrong with the address plan.

use super::plan_file::PlanFile;
use crate::cli::command_result::{CommandResult, Exit};
use crate::cli::lot::Records;
use crate::cli::output;
use crate::layout::LayoutError;
use crate::layout::check::check;
use crate::layout::seated::differences;
use crate::plain::plain;
use crate::quantity::located::Located;
use crate::report::planned_modules::json;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    plan: PlanFile,

    #[command(flatten)]
    records: Records,

    /// Print a JSON array of what is wrong instead
    #[arg(long)]
    json: bool,
}

/// One thing that is wrong.
#[derive(Debug, serde::Serialize)]
struct Wrong<'a> {
    file: &'a str,
    line: Option<usize>,
    column: Option<usize>,
    sentence: &'a str,
}

impl<'a> From<&'a Located> for Wrong<'a> {
    fn from(wrong: &'a Located) -> Self {
        Wrong {
            file: &wrong.file,
            line: wrong.place.as_ref().map(|p| p.line),
            column: wrong.place.as_ref().map(|p| p.column),
            sentence: &wrong.message,
        }
    }
}

/// Carries the command out.
///
/// # Errors
/// What is wrong.
pub fn run(given: &Given) -> CommandResult {
    let plan = given.plan.read()?;
    let mut wrong = check(&plan);
    if wrong.is_empty() {
        wrong = differences(&plan, &given.records.path)?;
    }
    if given.json {
        output::data(&json(&wrong.iter().map(Wrong::from).collect::<Vec<_>>()))?;
        return Ok(if wrong.is_empty() { Exit::Pass } else { Exit::BadInput });
    }
    if !wrong.is_empty() {
        return Err(LayoutError::Wrong(wrong).into());
    }
    let count = plan.modules.len();
    let file = plain(plan.source.name());
    output::print(&format!("{file}: nothing is wrong with it, modules: {count}\n"))?;
    Ok(Exit::Pass)
}
