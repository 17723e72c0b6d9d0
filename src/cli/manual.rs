//! `musterbench manual`: the manual pages and the shells' completions, made from the definition of the
//! commands itself.

use super::command_result::{CommandResult, Exit, OrExit};
use super::{Arguments, output};
use crate::plain::plain;
use anyhow::Context;
use clap::{CommandFactory, ValueEnum};
use clap_complete::Shell;
use std::fs::create_dir_all;
use std::path::PathBuf;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// The folder that they go into, made where it is missing: `man/man1` for `MANPATH`, and `completions`
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
}

/// Carries the command out.
///
/// # Errors
/// When something cannot be written.
pub fn run(given: &Given) -> CommandResult {
    let shown = plain(&given.folder.display().to_string());
    let pages = given.folder.join("man").join("man1");
    let completions = given.folder.join("completions");
    let written = || -> std::io::Result<()> {
        create_dir_all(&pages)?;
        create_dir_all(&completions)?;
        clap_mangen::generate_to(Arguments::command(), &pages)?;
        for shell in Shell::value_variants() {
            let mut command = Arguments::command();
            clap_complete::generate_to(*shell, &mut command, "musterbench", &completions)?;
        }
        Ok(())
    };
    written().with_context(|| format!("cannot write into {shown}")).or_bench()?;
    output::print(&format!("Manual pages and completions are in {shown}\n"))?;
    Ok(Exit::Pass)
}
