//! `musterbench layout move`: gives a module other addresses.

use super::plan_file::{PlanFile, entry, how_to_set};
use crate::cli::command_result::{CommandResult, Exit, bad_input};
use crate::cli::{output, word};
use crate::layout::alter::{Target, moved};
use crate::layout::plan::span_in_words;
use crate::plain::plain;
use crate::report::planned_modules::json;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Name of the module in the address plan
    #[arg(value_name = "NAME")]
    name: String,

    /// Its new first address [default: the lowest that is free]
    #[arg(long, value_name = "N", value_parser = word::whole_number, allow_negative_numbers = true)]
    first: Option<i64>,

    /// Its new command format [default: as it was]
    #[arg(long, value_name = "dcc|trinary", value_parser = word::format)]
    format: Option<Format>,

    /// How your command station counts the addresses of dcc [default: as it was]
    #[arg(long, value_name = "rcn-213|from-group-zero", value_parser = word::numbering)]
    numbering: Option<Numbering>,

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
    let to = Target { first: given.first, format: given.format, numbering: given.numbering };
    let altered = moved(&given.plan.path, &given.name, to)?;
    let module = &altered.after;
    if given.json {
        output::data(&json(&entry(module)))?;
        return Ok(Exit::Pass);
    }
    let set = module.setting().map_err(bad_input)?;
    output::print(&format!(
        "{}: moved from {} {} to {} {}\n{}Print its label anew.\n",
        plain(&module.name),
        altered.before.format,
        span_in_words(&altered.before.addresses()),
        module.format,
        span_in_words(&module.addresses()),
        how_to_set(&module.sheet, set.switches),
    ))?;
    Ok(Exit::Pass)
}
