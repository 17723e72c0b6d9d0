//! `musterbench lot show`: a lot, module by module.

use super::named_files;
use super::which::{Records, keep_sample, warn_of_damage};
use crate::cli::command_result::{CommandResult, Exit};
use crate::cli::layout::plan_file::PlanFile;
use crate::cli::output;
use crate::layout::seated::differences_of;
use crate::lot::modules_csv;
use crate::lot::standing::Lot;
use crate::report::lot_json::lot_json;
use crate::report::lot_text::lot;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Name of the lot
    #[arg(value_name = "LOT")]
    lot: String,

    #[command(flatten)]
    records: Records,

    #[command(flatten)]
    plan: PlanFile,

    /// Print a JSON object instead
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// When there is no such lot, or a record cannot be read.
pub fn run(given: &Given) -> CommandResult {
    let mut found = Lot::read(&given.records.path, &given.lot)?;
    named_files::check(&found)?;
    keep_sample(&mut found, "lot.toml")?;
    warn_of_damage(&found);
    {
        // Runs since then are not in it yet.
        let _lock = found.folder.lock()?;
        modules_csv::write(&found)?;
    }
    // What is wrong in the plan itself says `layout check`.
    if let Some(plan) = given.plan.read_if_any()?.filter(|plan| plan.wrong.is_empty()) {
        differences_of(&plan, &found).iter().for_each(|told| output::tell(&told.to_string()));
    }
    let text = if given.json { lot_json(&found) } else { lot(&found, output::screen()) };
    output::print_as(given.json, &text)?;
    Ok(Exit::Pass)
}
