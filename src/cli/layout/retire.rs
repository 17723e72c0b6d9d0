//! `musterbench layout retire`: takes a module out of the plan.

use super::plan_file::{PlanFile, entry};
use super::seat::Told;
use crate::cli::command_result::{CommandResult, Exit};
use crate::cli::output;
use crate::layout::alter::retired;
use crate::layout::plan::span_in_words;
use crate::lot::decision::Whereabouts;
use crate::plain::plain;
use crate::report::planned_modules::json;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Name of the module in the address plan
    #[arg(value_name = "NAME")]
    name: String,

    /// Where the module is now, where it has a serial: here, missing, lent, returned, broken-here, scrapped
    #[arg(long, value_name = "WHERE", default_value = "here", value_parser = taken_out)]
    to: Whereabouts,

    /// Which place or person
    #[arg(long, value_name = "TEXT")]
    at: Option<String>,

    #[command(flatten)]
    told: Told,

    #[command(flatten)]
    plan: PlanFile,

    /// Print a JSON object instead: the module as it was
    #[arg(long)]
    json: bool,
}

/// Where a module can be that is on no layout.
fn taken_out(text: &str) -> Result<Whereabouts, String> {
    let can_be = |is: &Whereabouts| {
        !matches!(is, Whereabouts::Ordered | Whereabouts::BuiltIn | Whereabouts::ReplacedBy)
    };
    Whereabouts::among(text, can_be)
        .map_err(|words| format!("a module that was taken out is {words}"))
}

/// Carries the command out.
///
/// # Errors
/// When there is no such module, or the plan cannot be written.
pub fn run(given: &Given) -> CommandResult {
    given.told.check()?;
    let module = retired(&given.plan.path, &given.name)?;
    let mut said = format!(
        "{} is taken out of the plan: {} {} are free.\n",
        plain(&module.name),
        module.format,
        span_in_words(&module.addresses()),
    );
    if let Some(link) = &module.link {
        said += &given.told.tell(link, given.to, given.at.as_deref())?;
    }
    output::print_as(given.json, &if given.json { json(&entry(&module)) } else { said })?;
    Ok(Exit::Pass)
}
