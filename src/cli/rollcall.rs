//! `musterbench rollcall`: finds out which addresses and which format a module answers to.

use super::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use super::port::Port;
use super::simulation::Simulation;
use super::{interrupt, output, word};
use crate::procedure::simulated_set_up::kind;
use crate::report::roll_call::{Progress, roll_call_json, roll_call_text};
use crate::roll_call::{Question, RollCallError, call_the_roll};
use crate::script::module_sheet::ModuleSheet;
use crate::script::setting::parse_switches;
use crate::script::shipped;
use crate::signal::address::check_module;
use crate::signal::target::Format;
use crate::simulated_bench::{Neighbour, Setup};

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    port: Port,

    /// Module sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE", default_value = shipped::MODULE_SHEETS[0].name)]
    module_sheet: String,

    /// First address at which the module should answer [default: the module sheet's]
    #[arg(
        long,
        value_name = "N",
        value_parser = word::whole_number,
        allow_negative_numbers = true
    )]
    address: Option<i64>,

    /// Ask in this format alone [default: all that the module sheet names, its usual one first]
    #[arg(long, value_name = "dcc|trinary", value_parser = word::format)]
    format: Option<Format>,

    /// Go on over all addresses when something has answered: there may be more modules on the feed
    #[arg(long)]
    all: bool,

    /// How the switches of the simulated module are set, a digit each, switch 1 first; 1 is on, 0
    /// off [default: for the address]
    #[arg(long, value_name = "DIGITS")]
    switches: Option<String>,

    /// Seat another module on the feed of the simulated bench, its switches set so; can be given
    /// again
    #[arg(long, value_name = "DIGITS")]
    beside: Vec<String>,

    #[command(flatten)]
    simulation: Simulation,

    /// Print a JSON object instead of the text
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// One sentence, with the exit code that goes with it.
pub fn run(given: &Given) -> CommandResult {
    given.port.check(&given.simulation)?;
    if !given.port.is_simulated() && (given.switches.is_some() || !given.beside.is_empty()) {
        return Err(bad_input(
            "--switches and --beside are for the simulated bench only: leave them out, or say \
             --port simulated",
        ));
    }
    let sheet = shipped::module_sheet(&given.module_sheet).or_bad_input()?;
    let question = question(given, &sheet)?;
    let setup = setup(given, &sheet, &question)?;
    let stop = interrupt::flag()?;
    let mut jig = given.port.open(|| setup)?;
    if !jig.identity().simulated {
        output::tell(
            "The feed comes on, outputs move, and the jig's loads get hot. Ctrl-C turns all off.",
        );
    }
    let mut progress = Progress::default();
    let roll = call_the_roll(&mut jig, &question, stop, &mut |stage| progress.on_stage(stage));
    drop(progress);
    jig.close();
    let roll = match roll {
        Err(error @ RollCallError::BadQuestion(_)) => return Err(error).or_bad_input(),
        Err(error @ RollCallError::Stopped) => {
            return Err(CommandError { exit: Exit::Stopped, error: error.into() });
        }
        roll => roll.or_bench()?,
    };
    output::print_as(
        given.json,
        &if given.json {
            roll_call_json(&roll, &sheet)
        } else {
            roll_call_text(&roll, &sheet, output::screen())
        },
    )?;
    Ok(Exit::from(roll.verdict()))
}

fn question<'a>(given: &Given, sheet: &'a ModuleSheet) -> Result<Question<'a>, CommandError> {
    let format = given.format.unwrap_or(sheet.switches.usual_format);
    let formats = given.format.map_or_else(|| sheet.switches.formats(), |format| vec![format]);
    let asked = given.address.unwrap_or(i64::from(sheet.try_address));
    // What does not fit is no address of any format.
    let address = u16::try_from(asked).unwrap_or(0);
    check_module(format, sheet.numbering, address, sheet.outputs).map_err(|error| {
        let why = if i64::from(address) == asked {
            error.to_string()
        } else {
            format!("{format} has no address {asked}")
        };
        bad_input(format!("{why}; a {} takes up {} in a row", sheet.kind, sheet.outputs))
    })?;
    Ok(Question { sheet, address, format, formats, all: given.all })
}

/// What stands on the simulated bench: a module that is set for the address, unless it is said how
/// its switches are set.
fn setup(
    given: &Given,
    sheet: &ModuleSheet,
    question: &Question<'_>,
) -> Result<Setup, CommandError> {
    let parse = |digits: &String| parse_switches(digits, sheet).map_err(bad_input);
    let usual = given.simulation.setup(sheet, None);
    let beside = given
        .beside
        .iter()
        .map(|digits| Ok(Neighbour { kind: kind(sheet), switches: parse(digits)? }));
    let beside = beside.collect::<Result<Vec<_>, CommandError>>()?;
    let for_address = sheet.switches.switches_for(question.address, question.format);
    let switches = match &given.switches {
        Some(digits) => parse(digits)?,
        None => for_address.unwrap_or(usual.switches),
    };
    Ok(Setup { switches, beside, ..usual })
}
