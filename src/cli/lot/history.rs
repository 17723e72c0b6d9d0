//! `musterbench lot history`: all that is known of one module.

use super::which::{Records, lot_of, warn_of_damage};
use crate::cli::command_result::{CommandResult, Exit};
use crate::cli::output;
use crate::report::module_history::{history, history_json};

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// The module
    #[arg(value_name = "SERIAL")]
    serial: String,

    /// Its lot, where several have a module of this serial
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,

    #[command(flatten)]
    records: Records,

    /// Print a JSON object instead
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// When there is no such module, or a record cannot be read.
pub fn run(given: &Given) -> CommandResult {
    let lot = lot_of(&given.records.path, given.lot.as_deref(), &given.serial)?;
    warn_of_damage(&lot);
    let module = lot.module_of(&given.serial)?;
    let text = if given.json {
        history_json(&lot, module)
    } else {
        history(&lot, module, output::screen())
    };
    output::print_as(given.json, &text)?;
    Ok(Exit::Pass)
}
