//! One file a command: read arguments, call the library, print.

pub mod address;
pub mod calibrate;
pub mod calibration_choice;
pub mod command_result;
mod defaults;
pub mod explain;
pub mod export;
pub mod fault_choice;
pub mod faults;
mod finds;
pub mod interrupt;
mod keyboard;
mod keys;
pub mod label;
pub mod layout;
pub mod listeners;
pub mod load;
pub mod lot;
pub mod manual;
pub mod muster;
pub mod operator;
mod out_file;
pub mod output;
pub mod port;
pub mod ports;
mod reasoning;
pub mod recheck;
pub mod recover;
mod roll_call_record;
pub mod rollcall;
pub mod script;
pub mod sheets;
mod shorten;
pub mod simulate;
pub mod simulation;
pub mod test;
pub mod trial;
pub mod word;

use crate::plain::plain;
use crate::wire::PROTOCOL;
use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use defaults::Defaults;
use std::ffi::OsString;
use std::process::ExitCode;
const ALL: &str = "\
Extra-low voltage only, never mains. Fuse the feed. Set addresses with the power off. Lamps get hot.

Exit codes of `test`: 0 pass, 1 fail, 2 usage or bad input, 3 indeterminate, 4 bench trouble, 5 \
stopped. `musterbench COMMAND --help` says those of the others.";

const TESTED: &str = "\
Extra-low voltage only, never mains. Fuse the feed. Set addresses with the power off. Lamps get hot.

Exit codes: 0 pass, 1 fail, 2 usage or bad input, 3 indeterminate, 4 bench trouble, 5 stopped.";

const TESTED_LOT: &str = "\
Extra-low voltage only, never mains. Fuse the feed. The feed is off whenever a module is to be seated. Lamps \
get hot.

Exit codes: 0 nothing is left to do, 2 usage or bad input, 4 bench trouble, 5 stopped before the end.";

const CALIBRATED: &str = "\
Extra-low voltage only, never mains. Fuse both supplies. Power resistors get hot enough to burn.

Exit codes: 0 all channels calibrated, 1 a channel refused, 2 usage or bad input, 4 bench trouble, 5 \
stopped.";

const RECHECKED: &str = "\
Extra-low voltage only, never mains. Fuse both supplies. Power resistors get hot enough to burn.

Exit codes: 0 no drift, 1 drifted, 2 usage or bad input, 3 the check is too coarse, 4 bench trouble, \
5 stopped.";

const TRIED: &str = "\
Several modules, each tested at least twice by each operator (`test --operator`), one after the \
other on the same jig.

Exit codes: 0 good enough for the limits, 1 not good enough, 2 usage or bad input, 3 cannot be told.";

const SET: &str = "\
Set addresses with the power off.

Exit codes: 0 done, 2 usage or bad input.";

const FOUND: &str = "\
Thousands of runs on simulated benches: a minute or two. Nothing is measured, and nothing recorded.

Exit codes: 0 done, 2 usage or bad input, 5 stopped.";

const SHORTENED: &str = "\
Thousands of runs on simulated benches: some minutes. Nothing is measured, and nothing recorded.

Exit codes: 0 written, 2 usage or bad input, 3 nothing shorter was found that loses nothing, 4 the file \
cannot be written, 5 stopped.";

const LOOKED: &str = "Exit codes: 0 done, 2 usage or bad input.";

const FILED: &str = "\
Exit codes: 0 done, 2 usage, bad input, or something is wrong with the plan, 4 the file cannot be \
written.";

const BENCHED: &str = "Exit codes: 0 done, 2 usage or bad input, 4 the system refuses.";

const RECOVERED: &str = "\
Exit codes: 0 all recovered, 2 usage or bad input, 4 something cannot be read or finished.";

/// Acceptance-tests switching modules on a jig, or on a simulated bench.
#[derive(Debug, Parser)]
#[command(name = "musterbench", version, long_version = version(), after_help = ALL, after_long_help = after_long())]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Test a module and keep a record of it
    #[command(after_help = TESTED)]
    Test(Box<test::Given>),
    /// List the serial devices
    #[command(after_help = LOOKED)]
    Ports(ports::Given),
    /// Serve a simulated bench on a pseudo-terminal or behind a socket, in real time
    #[command(after_help = BENCHED)]
    Simulate(simulate::Given),
    /// Say how a module is set to an address, and what is sent to it
    #[command(after_help = SET)]
    Address(address::Given),
    /// Find out which addresses and which format a module answers to
    #[command(after_help = TESTED)]
    Rollcall(Box<rollcall::Given>),
    /// Calibrate the jig's current channels against a reference meter
    #[command(after_help = CALIBRATED)]
    Calibrate(calibrate::Given),
    /// Tell by one known resistor on one clamp whether the jig has drifted
    #[command(after_help = RECHECKED)]
    Recheck(recheck::Given),
    /// Look at load sheets, and make them from samples
    #[command(after_help = "`musterbench load COMMAND --help` says the exit codes.")]
    Load(load::Given),
    /// Look at scripts
    #[command(after_help = "`musterbench script COMMAND --help` says the exit codes.")]
    Script(script::Given),
    /// List the faults that a simulated bench can have
    #[command(after_help = LOOKED)]
    Faults,
    /// The layout's address plan: which module answers to what
    #[command(after_help = "`musterbench layout COMMAND --help` says the exit codes.")]
    Layout(layout::Given),
    /// Draw a label for a module of the address plan (SVG)
    #[command(after_help = FILED)]
    Label(label::Given),
    /// A lot of modules: what was ordered, what becomes of each, what people decide
    #[command(after_help = "`musterbench lot COMMAND --help` says the exit codes.")]
    Lot(lot::Given),
    /// Test the modules of a lot one after the other: seat, start, read the verdict
    #[command(after_help = TESTED_LOT)]
    Muster(Box<muster::Given>),
    /// Tell from several reports how much of what they scatter by is the bench's own
    #[command(after_help = TRIED)]
    Trial(trial::Given),
    /// Finish the reports of runs that were cut off, and rebuild each lot.csv
    #[command(after_help = RECOVERED)]
    Recover(recover::Given),
    /// Say what the uncertainty of a reading is made of, and where its limits come from
    #[command(after_help = LOOKED)]
    Explain(explain::Given),
    /// Copy a report or list for spreadsheets that want semicolons and decimal commas
    #[command(after_help = FILED)]
    Export(export::Given),
    /// Write the manual pages and the completions for shells
    #[command(after_help = BENCHED)]
    Manual(manual::Given),
}

/// The program's version, the commit of a release, and the version of the language that jigs have to speak.
fn version() -> String {
    format!(
        "{}\ncommit {}\njig language {PROTOCOL}",
        env!("CARGO_PKG_VERSION"),
        env!("MUSTERBENCH_COMMIT")
    )
}

/// What the long help ends with.
fn after_long() -> String {
    format!("{ALL}\n\n{}", defaults::TOLD)
}

/// Reads the arguments of the program, or gives the exit code of what was said instead: 2 when they
/// make no sense, and 0 when help is asked for.
///
/// # Errors
/// That exit code.
pub fn parse() -> Result<Arguments, ExitCode> {
    let defaults = Defaults::read().map_err(|error| output::exit_code(Err(error)))?;
    let command = || defaults.apply(Arguments::command()).term_width(output::screen().width.into());
    let read = |typed: Vec<OsString>| {
        command()
            .try_get_matches_from(typed)
            .and_then(|found| {
                let arguments = Arguments::from_arg_matches(&found)?;
                if let Command::Test(given) = &arguments.command
                    && given.is_verbose()
                {
                    let told = defaults.told(&command(), &found);
                    told.iter().for_each(|line| output::tell(&plain(line)));
                }
                Ok(arguments)
            })
            .map_err(|error| error.format(&mut command()))
    };
    let typed: Vec<OsString> = std::env::args_os().collect();
    read(typed.clone()).map_err(|error| {
        // What was typed is shown again, and must not steer the terminal.
        let harmless = typed.iter().map(|typed| plain(&typed.to_string_lossy()).into()).collect();
        say(&read(harmless).err().unwrap_or(error))
    })
}

/// Help, the version, or what is wrong with the arguments.
fn say(error: &clap::Error) -> ExitCode {
    if error.use_stderr() {
        output::tell(error.render().to_string().trim_end());
        ExitCode::from(command_result::Exit::BadInput as u8)
    } else {
        match output::print(&error.render().to_string()) {
            Ok(()) => ExitCode::SUCCESS,
            Err(trouble) => output::exit_code(Err(trouble)),
        }
    }
}
