//! `musterbench load`: load sheets, looked at and made from samples.

mod check;
mod from_sample;

use super::command_result::CommandResult;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(subcommand)]
    what: What,
}

const SAMPLED: &str = "\
Extra-low voltage only, never mains. Fuse the load supply. Lamps and power resistors get hot.

Exit codes: 0 the sheet is written, 2 usage or bad input (limits that make no sense too), 4 bench \
trouble, 5 stopped.";

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Say what the loads of a load sheet must draw, clamp by clamp
    #[command(after_help = super::LOOKED)]
    Check(check::Given),
    /// Measure a known good load several times and write a load sheet with limits for it
    #[command(after_help = SAMPLED)]
    FromSample(Box<from_sample::Given>),
}

/// Carries the command out.
///
/// # Errors
/// What is wrong with the sheet, with what was asked for, or with the bench.
pub fn run(given: &Given) -> CommandResult {
    match &given.what {
        What::Check(given) => check::run(given),
        What::FromSample(given) => from_sample::run(given),
    }
}
