//! `musterbench faults`: the catalogue of the simulated bench.

use super::command_result::{CommandResult, Exit};
use super::output;
use crate::report::fault_list::{Entry, fault_list};
use crate::simulated_bench::faults::catalogue;

/// Carries the command out.
///
/// # Errors
/// When the list cannot be printed.
pub fn run() -> CommandResult {
    let entries = catalogue().map(|fault| Entry {
        name: fault.name,
        class: fault.class.to_string(),
        severity: [fault.default, fault.minimum, fault.maximum],
        unit: fault.unit,
        about: fault.about,
    });
    output::print(&fault_list(&entries.collect::<Vec<_>>(), output::screen()))?;
    Ok(Exit::Pass)
}
