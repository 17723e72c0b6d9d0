//! `musterbench recover`: finishes the reports of runs that were cut off, rebuilds each `lot.csv`.

use super::command_result::{CommandError, CommandResult, Exit, bad_input};
use super::output;
use crate::plain::{plain, plain_lines};
use crate::record::check::{self, Checked};
use crate::record::folder::LotFolder;
use crate::record::recorder::Recorder;
use crate::record::recover::{self, Fate, RecoveredLot};
use std::path::PathBuf;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Folder of the records
    #[arg(long, value_name = "DIR", default_value = "records")]
    records: PathBuf,

    /// Change nothing: tell whether all records are still what was written
    #[arg(long)]
    check: bool,
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
    if given.check {
        return checked(&lots);
    }
    for lot in lots {
        let recovered = recover::lot(lot)?;
        let stuck = recovered.fates.iter().any(|fate| matches!(fate, Fate::Stuck(_)));
        if recovered.lot_csv.is_err() || stuck || !recovered.wrong.is_empty() {
            ending = Exit::Bench;
        }
        output::print(&told(&recovered))?;
    }
    Ok(ending)
}

/// Finishes the reports of earlier runs of this module that were cut off.
///
/// # Errors
/// When the records cannot be read.
pub(super) fn finish_earlier(recorder: &Recorder) -> Result<(), CommandError> {
    for finished in recorder.recover()? {
        // A run that goes on beside this one is none of our business.
        if !matches!(finished, Fate::Living(_)) {
            let told = fate(&finished);
            output::tell(&plain(&format!("An earlier run was cut off. {told}")));
        }
    }
    Ok(())
}

/// Finishes all that earlier runs of a lot have left cut off; tells it, a line each.
///
/// # Errors
/// When the records cannot be read.
pub(super) fn finish_all(lot: LotFolder) -> Result<Vec<String>, CommandError> {
    // A kill between a report and its row leaves `lot.csv` behind: it is rebuilt too.
    let recovered = recover::lot(lot)?;
    let finished = recovered.fates.iter().filter(|one| !matches!(one, Fate::Living(_)));
    let told =
        finished.map(|one| plain(&format!("An earlier run was cut off. {}", fate(one)))).collect();
    recovered.lot_csv?;
    Ok(told)
}

/// Tells what is wrong with the records.
fn checked(lots: &[LotFolder]) -> CommandResult {
    let mut exit = Exit::Pass;
    for lot in lots {
        let Checked { whole, wrong } = check::lot(lot)?;
        let path = lot.path().display();
        let mut text = format!("{path}: {} whole, {} wrong\n", counted(whole, "run"), wrong.len());
        wrong.iter().for_each(|why| text.push_str(&format!("  {why}\n")));
        output::print(&plain_lines_ended(&text))?;
        if !wrong.is_empty() {
            exit = Exit::Bench;
        }
    }
    Ok(exit)
}

fn plain_lines_ended(text: &str) -> String {
    plain_lines(text) + "\n"
}

fn counted(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

/// What became of a lot, lines ended.
fn told(lot: &RecoveredLot) -> String {
    let mut lines: Vec<String> = lot.fates.iter().map(fate).collect();
    let csv = lot.folder.lot_csv();
    match &lot.lot_csv {
        Ok(rebuilt) => {
            lines.extend(rebuilt.skipped.iter().map(|why| format!("skipped: {why}")));
            let kept = rebuilt.aside.as_ref().map_or(String::new(), |aside| {
                format!("; the one before was damaged and is kept as {}", aside.display())
            });
            let runs = counted(rebuilt.runs, "run");
            lines.push(format!("{}: rebuilt, {runs}{kept}", csv.display()));
        }
        Err(why) => lines.push(why.to_string()),
    }
    lines.extend(lot.wrong.iter().map(|why| format!("damaged: {why}")));
    lines.iter().map(|line| plain(line) + "\n").collect()
}

/// What became of a journal, in a line.
pub fn fate(fate: &Fate) -> String {
    match fate {
        Fate::Finished { report, run, aside } => {
            let kept = aside.as_ref().map_or(String::new(), |aside| {
                format!("; its journal was damaged and is kept as {}", aside.display())
            });
            format!(
                "{}: finished, {}, {}{kept}",
                report.display(),
                counted(run.readings, "reading"),
                run.ending_in_words()
            )
        }
        Fate::Converted { report, aside } => format!(
            "{}: brought into the present format; the older one is kept as {}",
            report.display(),
            aside.display()
        ),
        Fate::Living(journal) => format!("{}: its run goes on, left alone", journal.display()),
        Fate::Empty(journal) => format!("{}: nothing in it, removed", journal.display()),
        Fate::Stuck(why) => why.to_string(),
    }
}
