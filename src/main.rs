//! Parse, dispatch, exit code.

use musterbench::cli::{self, Command};
use std::process::ExitCode;

fn main() -> ExitCode {
    cli::output::prepare();
    let arguments = match cli::parse() {
        Ok(arguments) => arguments,
        Err(code) => return code,
    };
    let ended = match &arguments.command {
        Command::Test(given) => cli::test::run(given),
        Command::Ports(given) => cli::ports::run(given),
        Command::Simulate(given) => cli::simulate::run(given),
        Command::Address(given) => cli::address::run(given),
        Command::Rollcall(given) => cli::rollcall::run(given),
        Command::Calibrate(given) => cli::calibrate::run(given),
        Command::Recheck(given) => cli::recheck::run(given),
        Command::Load(given) => cli::load::run(given),
        Command::Script(given) => cli::script::run(given),
        Command::Faults => cli::faults::run(),
        Command::Layout(given) => cli::layout::run(given),
        Command::Label(given) => cli::label::run(given),
        Command::Lot(given) => cli::lot::run(given),
        Command::Muster(given) => cli::muster::run(given),
        Command::Trial(given) => cli::trial::run(given),
        Command::Recover(given) => cli::recover::run(given),
        Command::Explain(given) => cli::explain::run(given),
        Command::Export(given) => cli::export::run(given),
        Command::Manual(given) => cli::manual::run(given),
    };
    cli::output::exit_code(ended)
}
