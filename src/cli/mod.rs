//! One file a command: read arguments, call the library, print.

pub mod address;
pub mod calibrate;
pub mod calibration_choice;
pub mod command_result;
pub mod explain;
pub mod fault_choice;
pub mod faults;
pub mod interrupt;
pub mod label;
pub mod layout;
pub mod listeners;
pub mod load;
pub mod operator;
pub mod output;
pub mod port;
pub mod ports;
pub mod recheck;
pub mod recover;
pub mod rollcall;
pub mod script;
pub mod sheets;
pub mod simulate;
pub mod simulation;
pub mod test;
pub mod trial;
pub mod word;

use clap::{Parser, Subcommand};

const CAUTION: &str = "\
Extra-low voltage only, never mains. Fuse the feed. Set addresses with the power off. Lamps get hot.

Exit codes: 0 pass, 1 fail, 2 usage or bad input, 3 indeterminate, 4 bench trouble.";

const CALIBRATED: &str = "\
Extra-low voltage only, never mains. Fuse both supplies. Power resistors get hot enough to burn.

Exit codes: 0 all channels calibrated, 1 a channel refused, 2 usage or bad input, 4 bench trouble.";

const RECHECKED: &str = "\
Extra-low voltage only, never mains. Fuse both supplies. Power resistors get hot enough to burn.

Exit codes: 0 no drift, 1 drifted, 2 usage or bad input, 3 the check is too coarse, 4 bench trouble.";

const TRIED: &str = "\
Several modules, each tested at least twice by each operator (`test --operator`), one after the
other on the same jig.

Exit codes: 0 good enough for the limits, 1 not good enough, 2 usage or bad input, 3 cannot be told.";

/// Acceptance-tests switching modules on a jig, or on a simulated bench.
#[derive(Debug, Parser)]
#[command(name = "musterbench", version, after_help = CAUTION)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Test a module and keep a record of it
    #[command(after_help = CAUTION)]
    Test(Box<test::Given>),
    /// List the serial devices
    Ports(ports::Given),
    /// Serve a simulated bench on a pseudo-terminal, in real time
    Simulate(simulate::Given),
    /// Say how a module is set to an address, and what is sent to it
    #[command(after_help = CAUTION)]
    Address(address::Given),
    /// Find out which addresses and which format a module answers to
    #[command(after_help = CAUTION)]
    Rollcall(Box<rollcall::Given>),
    /// Calibrate the jig's current channels against a reference meter
    #[command(after_help = CALIBRATED)]
    Calibrate(calibrate::Given),
    /// Tell by one known resistor on one clamp whether the jig has drifted
    #[command(after_help = RECHECKED)]
    Recheck(recheck::Given),
    /// Look at load sheets, and make them from samples
    Load(load::Given),
    /// Look at scripts
    Script(script::Given),
    /// List the faults that a simulated bench can have
    Faults,
    /// The layout's address plan: which module answers to what
    Layout(layout::Given),
    /// Draw a label for a module of the address plan (SVG)
    Label(label::Given),
    /// Tell from several reports how much of what they scatter by is the bench's own
    #[command(after_help = TRIED)]
    Trial(trial::Given),
    /// Finish the reports of runs that were cut off, and rebuild each lot.csv
    Recover(recover::Given),
    /// Say what the uncertainty of a reading is made of, and where its limits come from
    Explain(explain::Given),
}

/// Reads the arguments of the program. Ends it with code 2 when they make no sense, and with 0
/// when help is asked for.
pub fn parse() -> Arguments {
    Arguments::parse()
}
