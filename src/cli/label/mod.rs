//! `musterbench label`: labels for modules, as drawings.

mod of_lot;
mod of_place;
mod pages;

use super::command_result::CommandResult;
use super::layout::plan_file::PlanFile;
use super::lot::Records;
use crate::label::sheet::SHIPPED;
use clap::ArgGroup;
use std::path::PathBuf;

/// Its arguments.
#[derive(Debug, clap::Args)]
#[command(group(ArgGroup::new("of").required(true).args(["module", "lot", "test_page"])))]
pub struct Given {
    /// Name of a module in the address plan: its label, with its switches
    #[arg(value_name = "MODULE")]
    module: Option<String>,

    /// Sheets for a lot: a label for each accepted module, a tag for each that is rejected or on hold
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,

    /// Stickers with the serials instead, before the first module is unpacked
    #[arg(long, requires = "lot")]
    numbers: bool,

    /// Only for this module of the lot; can be given again
    #[arg(long = "serial", value_name = "SERIAL", requires = "lot")]
    serials: Vec<String>,

    /// The sheet of labels: a file, or the name of a shipped one (a4-cut, a5-cut)
    #[arg(long, value_name = "FILE", default_value = SHIPPED[0].0, conflicts_with = "module")]
    sheet: String,

    /// Places of the first sheet that are used already
    #[arg(
        long,
        value_name = "N",
        default_value = "0",
        hide_default_value = true,
        requires = "lot"
    )]
    skip: usize,

    /// Print a test page of the sheet: whether the printer prints at true size, and where the labels lie
    #[arg(long)]
    test_page: bool,

    /// Write to this file [default: print it]; sheets go into one .html, or into an .svg for each
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,

    /// Write over the file though this command did not write it, or though it is a link
    #[arg(long, requires = "out")]
    replace: bool,

    #[command(flatten)]
    records: Records,

    #[command(flatten)]
    plan: PlanFile,

    /// Print a JSON object about the labels; without --out it holds the drawings
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// When something is not in order that labels are printed from, or they cannot be written.
pub fn run(given: &Given) -> CommandResult {
    match (&given.module, &given.lot) {
        (Some(module), _) => of_place::run(given, module),
        (None, Some(lot)) => of_lot::run(given, lot),
        (None, None) => pages::test(given),
    }
}
