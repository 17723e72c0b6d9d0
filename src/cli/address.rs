//! `musterbench address`: from a first address to the switches, and back.

use super::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use super::output;
use super::word::{format, numbering, whole_number};
use crate::report::setting_json::setting_json;
use crate::report::setting_text::setting_text;
use crate::script::module_sheet::ModuleSheet;
use crate::script::setting::{Setting, parse_switches};
use crate::script::shipped;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Address of the module's first output; the others follow
    #[arg(
        value_name = "FIRST",
        value_parser = whole_number,
        allow_negative_numbers = true,
        required_unless_present = "switches"
    )]
    first: Option<i64>,

    /// The other way round: what these switches mean. A digit each, switch 1 first; 1 is on, 0 off
    #[arg(long, value_name = "DIGITS", conflicts_with_all = ["first", "format"])]
    switches: Option<String>,

    /// Command format [default: the one that the module sheet names first]
    #[arg(long, value_name = "dcc|trinary", value_parser = format)]
    format: Option<Format>,

    /// How your command station counts the addresses of dcc [default: as the module sheet does]
    #[arg(long, value_name = "rcn-213|from-group-zero", value_parser = numbering)]
    numbering: Option<Numbering>,

    /// Module sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE", default_value = shipped::usual_kind())]
    module_sheet: String,

    /// Print a JSON object instead of the drawing
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// What is wrong with the address, the switches or the sheet.
pub fn run(given: &Given) -> CommandResult {
    let sheet = shipped::module_sheet(&given.module_sheet).or_bad_input()?;
    let setting = setting(given, &sheet)?;
    if given.numbering.is_some() && setting.format != Format::Dcc {
        return Err(bad_input(format!(
            "--numbering is for dcc: everybody counts {} addresses the same way, so leave it out",
            setting.format
        )));
    }
    output::print_as(
        given.json,
        &if given.json {
            setting_json(&sheet, &setting)
        } else {
            setting_text(&sheet, &setting, output::screen())
        },
    )?;
    Ok(Exit::Pass)
}

fn setting(given: &Given, sheet: &ModuleSheet) -> Result<Setting, CommandError> {
    let counted = given.numbering.unwrap_or(sheet.numbering);
    let setting = match (given.first, &given.switches) {
        (_, Some(switches)) => {
            parse_switches(switches, sheet).and_then(|on| Setting::of_switches(sheet, on, counted))
        }
        (Some(first), None) => {
            let format = given.format.unwrap_or(sheet.switches.usual_format);
            Setting::for_address(sheet, first, format, counted)
        }
        (None, None) => Err("say a first address, or --switches".into()),
    };
    setting.map_err(bad_input)
}
