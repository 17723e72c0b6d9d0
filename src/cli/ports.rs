//! `musterbench ports`: the serial devices, and with `--ask` which of them are jigs.

use super::command_result::{CommandResult, Exit};
use super::output;
use crate::link::error::LinkError;
use crate::link::identity::Identity;
use crate::link::ports;
use crate::report::port_list::{Entry, port_list};

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Ask each device whether it is a jig. This writes to all of them: other instruments may not
    /// like it
    #[arg(long)]
    ask: bool,
}

/// Carries the command out.
///
/// # Errors
/// When the list cannot be printed.
pub fn run(given: &Given) -> CommandResult {
    let ports = ports::list();
    if given.ask && !ports.is_empty() {
        output::tell("Asking each device for its identity; this writes `*IDN?` to it.");
    }
    let answers = if given.ask { ports::ask(&ports) } else { Vec::new() };
    let mut answers = answers.into_iter();
    let entries: Vec<Entry> = ports
        .into_iter()
        .map(|port| Entry {
            answer: answers.next().map(said),
            name: port.name,
            lasting_name: port.lasting_name.map(|path| path.display().to_string()),
            about: port.about,
        })
        .collect();
    output::print(&port_list(&entries, output::screen()))?;
    Ok(Exit::Pass)
}

fn said(answer: Result<Identity, LinkError>) -> String {
    match answer {
        Ok(jig) => format!("{} {}, firmware {}", jig.model, jig.serial, jig.firmware),
        Err(error) => error.to_string(),
    }
}
