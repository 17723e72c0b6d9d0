//! `musterbench layout`: the layout's address plan.

mod add;
mod check;
mod list;
mod next;
pub mod plan_file;
mod rename;
mod replace;
mod retire;
mod seat;
mod shift;

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

const ALTERED: &str = "\
Set addresses, and change modules, with the power off.

Exit codes: 0 done, 2 usage, bad input, or it does not fit the plan, 4 a file cannot be written.";

const CHECKED: &str = "\
Exit codes: 0 nothing is wrong, 2 usage, bad input, or something is wrong with the plan.";

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Add a module to the address plan
    #[command(after_help = ADDED)]
    Add(add::Given),
    /// Give a module other addresses
    #[command(after_help = ALTERED)]
    Move(shift::Given),
    /// Give a module another name
    #[command(after_help = ALTERED)]
    Rename(rename::Given),
    /// Say that another module sits in a place from now on
    #[command(after_help = ALTERED)]
    Replace(replace::Given),
    /// Take a module out of the address plan
    #[command(after_help = ALTERED)]
    Retire(retire::Given),
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
        What::Move(given) => shift::run(given),
        What::Rename(given) => rename::run(given),
        What::Replace(given) => replace::run(given),
        What::Retire(given) => retire::run(given),
        What::List(given) => list::run(given),
        What::Check(given) => check::run(given),
        What::Next(given) => next::run(given),
    }
}
