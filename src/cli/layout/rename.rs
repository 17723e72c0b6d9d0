//! `musterbench layout rename`: gives a module another name.

use super::plan_file::{PlanFile, entry};
use super::seat::Told;
use crate::cli::command_result::{CommandError, CommandResult, Exit};
use crate::cli::output;
use crate::layout::alter::renamed;
use crate::lot::decision::Whereabouts;
use crate::plain::plain;
use crate::record::last_run::last_run;
use crate::report::planned_modules::json;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Name of the module in the address plan
    #[arg(value_name = "NAME")]
    name: String,

    /// Its new name: letters, digits, spaces, dots, - and _
    #[arg(value_name = "NEW")]
    new: String,

    #[command(flatten)]
    told: Told,

    #[command(flatten)]
    plan: PlanFile,

    /// Print a JSON object instead
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// When the plan does not allow it, or cannot be written.
pub fn run(given: &Given) -> CommandResult {
    given.told.check()?;
    let altered = renamed(&given.plan.path, &given.name, &given.new)?;
    let module = &altered.after;
    let (old, new) = (plain(&altered.before.name), plain(&module.name));
    let mut said = format!("{old} is now {new}. Print its label anew.\n");
    match &module.link {
        Some(link) => {
            said += &given.told.tell(link, Whereabouts::BuiltIn, Some(&module.name))?;
        }
        None => said += &runs_of(given, &altered.before.name)?,
    }
    output::print_as(given.json, &if given.json { json(&entry(module)) } else { said })?;
    Ok(Exit::Pass)
}

/// What becomes of the runs that were recorded under the old name, where there are any.
fn runs_of(given: &Given, old: &str) -> Result<String, CommandError> {
    let any = last_run(&given.told.records.path, old)?.is_some();
    let old = plain(old);
    Ok(if any {
        format!(
            "Its runs so far stay recorded as {old}: they go with a serial, where a module has one (`layout \
             replace --serial`).\n"
        )
    } else {
        String::new()
    })
}
