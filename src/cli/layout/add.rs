//! `musterbench layout add`: adds a module to the address plan.

use super::plan_file::{PlanFile, entry, how_to_set};
use super::seat::Told;
use crate::cli::command_result::{CommandResult, Exit, bad_input};
use crate::cli::{output, word};
use crate::layout::add::{Wanted, add};
use crate::layout::plan::span_in_words;
use crate::lot::decision::Whereabouts;
use crate::plain::plain;
use crate::report::planned_modules::json;
use crate::script::shipped;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Name of the module: letters, digits, spaces, dots, - and _
    #[arg(value_name = "NAME")]
    name: String,

    /// First address [default: the lowest that is free]
    #[arg(long, value_name = "N", value_parser = word::whole_number, allow_negative_numbers = true)]
    first: Option<i64>,

    /// Command format [default: the one that the module sheet names first]
    #[arg(long, value_name = "dcc|trinary", value_parser = word::format)]
    format: Option<Format>,

    /// Module sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE", default_value = shipped::usual_kind())]
    module_sheet: String,

    /// How your command station counts the addresses of dcc [default: as the module sheet does]
    #[arg(long, value_name = "rcn-213|from-group-zero", value_parser = word::numbering)]
    numbering: Option<Numbering>,

    /// Name of an output, such as "1=lantern"; may be given for each
    #[arg(long = "output", value_name = "N=NAME", value_parser = numbered)]
    outputs: Vec<(u8, String)>,

    /// The module that sits there, by its own name: its lot says its kind
    #[arg(long, value_name = "SERIAL", conflicts_with = "module_sheet")]
    serial: Option<String>,

    /// Its lot, where several have a module of this serial
    #[arg(long, value_name = "LOT", requires = "serial")]
    lot: Option<String>,

    /// A note for people
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,

    #[command(flatten)]
    told: Told,

    #[command(flatten)]
    plan: PlanFile,

    /// Print a JSON object instead
    #[arg(long)]
    json: bool,
}

/// `1=lantern`.
fn numbered(text: &str) -> Result<(u8, String), String> {
    (text.split_once('='))
        .and_then(|(number, name)| Some((number.trim().parse().ok()?, name.to_owned())))
        .ok_or_else(|| "say the output's number and its name, such as \"1=lantern\"".to_owned())
}

/// Carries the command out.
///
/// # Errors
/// When the plan does not allow the module, or cannot be written.
pub fn run(given: &Given) -> CommandResult {
    given.told.check()?;
    let lot = given.lot.as_deref();
    let seat = given.serial.as_deref().map(|serial| given.told.seat(lot, serial)).transpose()?;
    let module = add(
        &given.plan.path,
        &Wanted {
            name: given.name.clone(),
            module_sheet: seat
                .as_ref()
                .map_or(&given.module_sheet, |seat| &seat.lot.order.kind)
                .clone(),
            first: given.first,
            format: given.format,
            numbering: given.numbering,
            outputs: given.outputs.clone(),
            note: given.note.clone(),
            link: seat.map(|seat| seat.link),
        },
    )?;
    let told = match &module.link {
        Some(link) => given.told.tell(link, Whereabouts::BuiltIn, Some(&module.name))?,
        None => String::new(),
    };
    if given.json {
        output::data(&json(&entry(&module)))?;
        return Ok(Exit::Pass);
    }
    let file = plain(&given.plan.path.display().to_string());
    let set = module.setting().map_err(bad_input)?;
    let addresses = span_in_words(&module.addresses());
    output::print(&format!(
        "{}: {} at {} {addresses}, added to {file}\n{told}{}",
        plain(&module.name),
        module.sheet.kind,
        module.format,
        how_to_set(&module.sheet, set.switches),
    ))?;
    Ok(Exit::Pass)
}
