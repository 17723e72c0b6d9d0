//! Whether the records of a lot are still what was written.

use super::error::{RecordError, io_error};
use super::folder::{LotFolder, ModuleFolder};
use super::report::{facts_file, proven};
use super::{lot_csv, old_format};
use std::fs;

/// What a check found.
#[derive(Debug, Default)]
pub struct Checked {
    /// How many runs are whole.
    pub whole: usize,
    /// What is wrong, a sentence each.
    pub wrong: Vec<String>,
}

/// Checks a lot. Nothing is changed.
///
/// # Errors
/// When the folder cannot be read.
pub fn lot(folder: &LotFolder) -> Result<Checked, RecordError> {
    let mut checked = reports(folder)?;
    for module in folder.modules()? {
        for run in module.journals()? {
            let path = module.journal(run);
            checked.wrong.push(RecordError::Unfinished { path }.to_string());
        }
    }
    if checked.wrong.is_empty() && !lot_csv::agrees(folder)? {
        let path = folder.lot_csv();
        checked.wrong.push(format!(
            "{} does not say what the records say: `musterbench recover` rebuilds it",
            path.display()
        ));
    }
    Ok(checked)
}

/// Checks the finished reports of a lot against their facts files.
///
/// # Errors
/// When the folder cannot be read.
pub fn reports(folder: &LotFolder) -> Result<Checked, RecordError> {
    let mut checked = Checked::default();
    for module in folder.modules()? {
        let reports = module.reports()?;
        for &run in &reports {
            match report(&module, run) {
                Ok(()) => checked.whole += 1,
                Err(error) => checked.wrong.push(error.to_string()),
            }
        }
        for run in module.facts_files()?.into_iter().filter(|run| !reports.contains(run)) {
            let path = module.facts(run);
            checked.wrong.push(format!("{}: its report is missing", path.display()));
        }
    }
    Ok(checked)
}

fn report(folder: &ModuleFolder, run: u32) -> Result<(), RecordError> {
    let path = folder.report(run);
    let bytes = fs::read(&path).map_err(io_error("read", &path))?;
    if old_format::is_report(&bytes) {
        return Err(RecordError::Older { path });
    }
    let damaged = |why: &str| RecordError::Damaged { path: path.clone(), why: why.into() };
    let file =
        facts_file(&folder.facts(run))?.ok_or_else(|| damaged("its facts file is missing"))?;
    proven(&bytes, &file.summary).map_err(damaged)
}
