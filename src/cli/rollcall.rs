//! `musterbench rollcall`: finds out which addresses and which format a module answers to.

use super::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use super::port::Port;
use super::recover::finish_earlier;
use super::roll_call_record::{began, keep, record};
use super::simulation::Simulation;
use super::{interrupt, output, word};
use crate::link::client::Jig;
use crate::procedure::bench::Bench;
use crate::procedure::simulated_set_up::kind;
use crate::record::names;
use crate::record::recorder::{Labels, Recorder};
use crate::report::roll_call::{Progress, roll_call_json, roll_call_text};
use crate::roll_call::answer::RollCall;
use crate::roll_call::{Question, RollCallError, call_the_roll};
use crate::script::module_sheet::ModuleSheet;
use crate::script::setting::parse_switches;
use crate::script::shipped;
use crate::signal::address::check_module;
use crate::signal::target::Format;
use crate::simulated_bench::{Neighbour, Setup};
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    port: Port,

    /// Name of the module, for the record: letters, digits, spaces, dots, - and _
    #[arg(long, value_name = "ID", default_value = "unnamed")]
    module: String,

    /// Name of the lot that it belongs to
    #[arg(long, value_name = "L", default_value = "unsorted")]
    lot: String,

    /// Folder of the records
    #[arg(long, value_name = "DIR", default_value = "records")]
    records: PathBuf,

    /// Module sheet: a file, or the name of a shipped one [default: all shipped kinds are tried]
    #[arg(long, value_name = "FILE")]
    module_sheet: Option<String>,

    /// First address at which the module should answer; without it nothing is judged
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

    /// Kind of the module on the simulated bench, where it shall be another than what is asked for
    #[arg(long, value_name = "FILE")]
    seated: Option<String>,

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
    if !given.port.is_simulated()
        && (given.switches.is_some() || given.seated.is_some() || !given.beside.is_empty())
    {
        return Err(bad_input(
            "--switches, --seated and --beside are for the simulated bench only: leave them out, or say \
             --port simulated",
        ));
    }
    let sheet = given.module_sheet.as_deref().unwrap_or(shipped::usual_kind());
    let sheet = shipped::module_sheet(sheet).or_bad_input()?;
    let kinds = shipped::other_kinds(&sheet);
    let question = question(given, &sheet, &kinds)?;
    let setup = setup(given, &sheet, &question)?;
    let labels =
        Labels { module: given.module.clone(), lot: given.lot.clone(), operator: String::new() };
    names::check("module", &given.module).or_bad_input()?;
    names::check("lot", &given.lot).or_bad_input()?;
    let stop = interrupt::flag()?;
    let mut jig = given.port.open(|| setup)?;
    let (kept, roll, report) = called(given, &question, labels, &mut jig, stop)?;
    jig.close();
    let roll = match roll {
        Err(error @ RollCallError::BadQuestion(_)) => return Err(error).or_bad_input(),
        Err(error @ RollCallError::Stopped) => {
            return Err(CommandError { exit: Exit::Stopped, error: error.into() });
        }
        roll => roll.or_bench()?,
    };
    let sheet = question.sheet_of(&roll);
    output::print_as(
        given.json,
        &if given.json {
            roll_call_json(&roll, sheet, report.as_deref())
        } else {
            roll_call_text(&roll, sheet, report.as_deref(), output::screen())
        },
    )?;
    kept?;
    Ok(match roll.judged() {
        Some(verdict) => verdict.into(),
        None if roll.own().is_some() => Exit::Pass,
        None => Exit::Indeterminate,
    })
}

/// Whether all is on disk, what came of it, and where.
type Called = (Result<(), CommandError>, Result<RollCall, RollCallError>, Option<PathBuf>);

/// Calls the roll and keeps a record of it.
fn called(
    given: &Given,
    question: &Question<'_>,
    labels: Labels,
    jig: &mut Jig,
    stop: &AtomicBool,
) -> Result<Called, CommandError> {
    let mut recorder = Recorder::open(&given.records, labels, Box::new(()))?;
    finish_earlier(&recorder)?;
    if !jig.identity().simulated {
        output::tell(
            "The feed comes on, outputs move, and the jig's loads get hot. Ctrl-C turns all off.",
        );
    }
    let mut bench = Bench::new(jig, None, stop);
    bench.make_safe()?;
    let self_test = bench.self_test()?;
    let began = began(question, bench.jig, self_test);
    record(&mut recorder, &began, &mut bench)?;
    let mut progress = Progress::default();
    let roll = call_the_roll(bench.jig, question, stop, &mut |stage| progress.on_stage(stage));
    drop(progress);
    let kept = keep(&mut recorder, question, &roll, &mut bench);
    Ok((kept, roll, recorder.report()))
}

fn question<'a>(
    given: &Given,
    sheet: &'a ModuleSheet,
    kinds: &'a [ModuleSheet],
) -> Result<Question<'a>, CommandError> {
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
    Ok(Question {
        sheet,
        address,
        format,
        formats,
        all: given.all,
        hook_up: true,
        wanted: given.address.is_some(),
        kind_given: given.module_sheet.is_some(),
        kinds,
    })
}

/// What stands on the simulated bench: a module that is set for the address, unless it is said how
/// its switches are set.
fn setup(
    given: &Given,
    sheet: &ModuleSheet,
    question: &Question<'_>,
) -> Result<Setup, CommandError> {
    let seated = given.seated.as_deref().map(shipped::module_sheet).transpose().or_bad_input()?;
    let is_asked_for = seated.is_none();
    let sheet = seated.as_ref().unwrap_or(sheet);
    let parse = |digits: &String| parse_switches(digits, sheet).map_err(bad_input);
    let usual = given.simulation.setup(sheet, None);
    let beside = given
        .beside
        .iter()
        .map(|digits| Ok(Neighbour { kind: kind(sheet), switches: parse(digits)? }));
    let beside = beside.collect::<Result<Vec<_>, CommandError>>()?;
    let for_address =
        sheet.switches.switches_for(question.address, question.format).filter(|_| is_asked_for);
    let switches = match &given.switches {
        Some(digits) => parse(digits)?,
        None => for_address.unwrap_or(usual.switches),
    };
    Ok(Setup { switches, beside, ..usual })
}
