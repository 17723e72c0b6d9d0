//! `musterbench lot`: a lot of modules, and what becomes of each.

mod close;
mod decide;
mod history;
mod list;
mod named_files;
mod open;
mod show;
mod which;

pub use which::{Because, Records, keep, keep_sample, lot_of};

use super::command_result::{CommandError, CommandResult, Exit};
use crate::lot::LotError;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(subcommand)]
    what: What,
}

const KEPT: &str =
    "Exit codes: 0 done, 2 usage or bad input, 4 the records cannot be read or written.";

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Open a lot: what was ordered, and how it is tested
    #[command(after_help = KEPT)]
    Open(Box<open::Given>),
    /// List the lots
    #[command(after_help = KEPT)]
    List(list::Given),
    /// Show a lot: each module with its fate, its tries and where it is
    #[command(after_help = KEPT)]
    Show(show::Given),
    /// Show the history of a module: its tries, and what people decided and told of it
    #[command(after_help = KEPT)]
    History(history::Given),
    /// Close a lot: fates stay as they are, later runs are checks
    #[command(after_help = KEPT)]
    Close(close::Given),
    /// Strike a try of a module: it does not count (mis-seated, wrong leads)
    #[command(after_help = KEPT)]
    Strike(decide::Struck),
    /// Put a module on hold
    #[command(after_help = KEPT)]
    Hold(decide::Given),
    /// Let a module be tried anew: what was found so far does not count
    #[command(after_help = KEPT)]
    Release(decide::Given),
    /// Reject a module: it goes back
    #[command(after_help = KEPT)]
    Reject(decide::Given),
    /// Accept a module
    #[command(after_help = KEPT)]
    Accept(decide::Given),
    /// Note something about a module
    #[command(after_help = KEPT)]
    Note(decide::Given),
    /// Say where a module is
    #[command(after_help = KEPT)]
    Where(decide::Placed),
}

/// Carries the command out.
///
/// # Errors
/// What does not go together with how the lot stands, or what is wrong with its files.
pub fn run(given: &Given) -> CommandResult {
    use crate::lot::decision::What as Decided;
    let of = |given: &decide::Given, what: fn(String, u32) -> Decided| decide::run(given, what);
    match &given.what {
        What::Open(given) => open::run(given),
        What::List(given) => list::run(given),
        What::Show(given) => show::run(given),
        What::History(given) => history::run(given),
        What::Close(given) => close::run(given),
        What::Strike(given) => decide::strike(given),
        What::Hold(given) => of(given, |serial, after| Decided::Hold { serial, after }),
        What::Release(given) => of(given, |serial, after| Decided::Release { serial, after }),
        What::Reject(given) => of(given, |serial, after| Decided::Reject { serial, after }),
        What::Accept(given) => of(given, |serial, after| Decided::Accept { serial, after }),
        What::Note(given) => of(given, |serial, _| Decided::Note { serial }),
        What::Where(given) => decide::place(given),
    }
}

impl From<LotError> for CommandError {
    fn from(error: LotError) -> Self {
        match error {
            LotError::Record(error) => error.into(),
            LotError::Wrong(_) | LotError::Refused(_) => {
                CommandError { exit: Exit::BadInput, error: error.into() }
            }
        }
    }
}
