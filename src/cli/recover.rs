//! `musterbench recover`: finishes the reports of runs that were cut off, rebuilds each `lot.csv`.

use super::command_result::{CommandResult, Exit, bad_input};
use super::output;
use crate::record::folder::LotFolder;
use crate::record::recover::{self, Fate, RecoveredLot};
use crate::report::plain::plain;
use std::path::PathBuf;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Folder of the records
    #[arg(long, value_name = "DIR", default_value = "records")]
    records: PathBuf,
}

/// Carries the command out.
///
/// # Errors
/// When the records cannot be read. What cannot be recovered is told, and gives exit code 4.
pub fn run(given: &Given) -> CommandResult {
    if !given.records.is_dir() {
        let records = given.records.display();
        return Err(bad_input(format!("there is no folder {records}: give one with --records")));
    }
    let mut ending = Exit::Pass;
    let lots = LotFolder::all(&given.records)?;
    if lots.is_empty() {
        output::print(&format!("No lots in {}.\n", plain(&given.records.display().to_string())))?;
    }
    for lot in lots {
        let recovered = recover::lot(lot)?;
        if recovered.lot_csv.is_err() || recovered.fates.iter().any(|f| matches!(f, Fate::Stuck(_)))
        {
            ending = Exit::Bench;
        }
        output::print(&told(&recovered))?;
    }
    Ok(ending)
}

/// What became of a lot, lines ended.
fn told(lot: &RecoveredLot) -> String {
    let mut lines: Vec<String> = lot.fates.iter().map(fate).collect();
    let csv = lot.folder.lot_csv();
    match &lot.lot_csv {
        Ok(rebuilt) => {
            lines.extend(rebuilt.skipped.iter().map(|why| format!("skipped: {why}")));
            lines.push(format!("{}: rebuilt, {} runs", csv.display(), rebuilt.runs));
        }
        Err(why) => lines.push(why.to_string()),
    }
    lines.iter().map(|line| plain(line) + "\n").collect()
}

/// What became of a journal, in a line.
pub fn fate(fate: &Fate) -> String {
    match fate {
        Fate::Finished { report, run } => format!(
            "{}: finished, {} readings, {}",
            report.display(),
            run.closing.readings,
            run.closing.note
        ),
        Fate::Living(journal) => format!("{}: its run goes on, left alone", journal.display()),
        Fate::Empty(journal) => format!("{}: nothing in it, removed", journal.display()),
        Fate::Stuck(why) => why.to_string(),
    }
}
