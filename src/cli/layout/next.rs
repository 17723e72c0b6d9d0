//! `musterbench layout next`: the next addresses that are free.

use super::plan_file::{PlanFile, how_to_set, numbering};
use crate::cli::command_result::{CommandResult, Exit, OrExit, bad_input};
use crate::cli::{output, word};
use crate::layout::add::{counted, free};
use crate::layout::check::Register;
use crate::layout::plan::span_in_words;
use crate::report::planned_modules::{self, Free};
use crate::script::setting::{Setting, write_switches};
use crate::script::shipped;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Module sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE", default_value = shipped::usual_kind())]
    module_sheet: String,

    /// Command format [default: the one that the module sheet names first]
    #[arg(long, value_name = "dcc|trinary", value_parser = word::format)]
    format: Option<Format>,

    /// How your command station counts the addresses of dcc [default: as the module sheet does]
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
/// When nothing is free, or something is wrong with the plan.
pub fn run(given: &Given) -> CommandResult {
    let plan = given.plan.read()?.sound()?;
    let sheet = shipped::module_sheet(&given.module_sheet).or_bad_input()?;
    let format = given.format.unwrap_or(sheet.switches.usual_format);
    let counted = counted(&sheet, format, given.numbering)?;
    let first = free(&Register::of(&plan), &sheet, format, counted)?;
    let set = Setting::for_address(&sheet, first.into(), format, counted).map_err(bad_input)?;
    let addresses: Vec<u16> = set.outputs.iter().map(|output| output.address).collect();
    output::print_as(
        given.json,
        &if given.json {
            planned_modules::json(&Free {
                kind: &sheet.kind,
                format: format.to_string(),
                numbering: numbering(format, counted),
                switches: write_switches(set.switches, sheet.switches.weights.len()),
                addresses,
            })
        } else {
            let last = addresses.last().copied().unwrap_or(first);
            let span = span_in_words(&(first..=last));
            format!(
                "Free for a {}: {format} {span}\n{}",
                sheet.kind,
                how_to_set(&sheet, set.switches)
            )
        },
    )?;
    Ok(Exit::Pass)
}
