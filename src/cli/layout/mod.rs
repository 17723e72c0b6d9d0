//! `musterbench layout`: the layout's address plan.

mod add;
mod check;
mod list;
mod next;
pub mod plan_file;

use super::command_result::CommandResult;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(subcommand)]
    what: What,
}

const ADDED: &str = "\
Set addresses with the power off.

Exit codes: 0 added, 2 usage, bad input, or it does not fit the plan, 4 the file cannot be written.";

const CHECKED: &str = "\
Exit codes: 0 nothing is wrong, 2 usage, bad input, or something is wrong with the plan.";

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Add a module to the address plan
    #[command(after_help = ADDED)]
    Add(add::Given),
    /// List the modules
    #[command(after_help = super::LOOKED)]
    List(list::Given),
    /// Say everything that is wrong with the address plan
    #[command(after_help = CHECKED)]
    Check(check::Given),
    /// Propose the next addresses that are free
    #[command(after_help = super::SET)]
    Next(next::Given),
}

/// Carries the command out.
///
/// # Errors
/// What is wrong with the plan, or with what was asked for.
pub fn run(given: &Given) -> CommandResult {
    match &given.what {
        What::Add(given) => add::run(given),
        What::List(given) => list::run(given),
        What::Check(given) => check::run(given),
        What::Next(given) => next::run(given),
    }
}
