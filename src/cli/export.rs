//! `musterbench export`: a report or a list for spreadsheets that want semicolons and decimal commas.

use super::command_result::{CommandResult, Exit, bad_input};
use super::out_file::OutFile;
use super::output;
use crate::plain::plain;
use crate::record::export::{Export, export};
use crate::record::plain_file;
use std::path::PathBuf;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// A report, a lot.csv or a modules.csv: it stays as it is
    #[arg(value_name = "FILE")]
    file: PathBuf,

    /// The file to write; without it the standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,

    /// Write over a file that is there
    #[arg(long, requires = "out")]
    replace: bool,

    /// Leave the decimal points as they are
    #[arg(long)]
    decimal_point: bool,
}

/// Carries the command out.
///
/// # Errors
/// When the file is none of ours, or nothing can be written.
pub fn run(given: &Given) -> CommandResult {
    let bytes = plain_file::read(&given.file)?;
    let shown = plain(&given.file.display().to_string());
    let text = export(&bytes, Export { decimal_comma: !given.decimal_point }).map_err(|why| {
        bad_input(format!(
            "{shown} is no table of this program: {why}; give a report, or a lot.csv"
        ))
    })?;
    match &given.out {
        Some(path) => OutFile { path, replace: given.replace, own: None }.write(&text)?,
        None => output::data(&text)?,
    }
    Ok(Exit::Pass)
}
