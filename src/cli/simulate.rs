//! `musterbench simulate`: serves the simulated bench on a pseudo-terminal, in real time.

use super::command_result::{CommandResult, Exit, OrExit};
use super::sheets::BenchSheets;
use super::simulation::Simulation;
use super::{interrupt, output};
use crate::report::plain::plain;
use crate::simulated_bench::served::{ServeError, serve};
use std::path::PathBuf;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    sheets: BenchSheets,

    #[command(flatten)]
    simulation: Simulation,

    /// Make a link to the pseudo-terminal here
    #[arg(long, value_name = "PATH")]
    path_at: Option<PathBuf>,
}

/// Carries the command out: prints the device's path, and serves it until the program is ended.
///
/// # Errors
/// When a sheet is wrong, or the system refuses.
pub fn run(given: &Given) -> CommandResult {
    let (module, loads) = given.sheets.read()?;
    let setup = given.simulation.setup(&module, loads.as_ref());
    let stop = interrupt::flag()?;
    let mut told = Ok(());
    let served = serve(setup, given.path_at.as_deref(), stop, |path| {
        told = output::data(&format!("{}\n", plain(&path.display().to_string())));
        output::tell("A simulated bench is served there, in real time. Ctrl-C ends it.");
    });
    told?;
    match served {
        Err(error @ ServeError::Link { .. }) => Err(error).or_bad_input(),
        served => served.map(|()| Exit::Pass).or_bench(),
    }
}
