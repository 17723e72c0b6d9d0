//! The last run of a module, whichever lot it belonged to.

use super::error::RecordError;
use super::folder::{LotFolder, ModuleFolder};
use super::report;
use super::run_record::RunSummary;
use std::path::Path;

/// The last run of a module in the records; `None` when it was never tested.
///
/// A run on a simulated bench says nothing about a real module, so it counts only where no real one
/// is recorded. Nor does a roll-call, which judges nothing but addresses.
///
/// # Errors
/// When the records cannot be read, or a later run has no finished report.
pub fn last_run(records: &Path, module: &str) -> Result<Option<RunSummary>, RecordError> {
    if !records.exists() {
        return Ok(None);
    }
    let mut runs = Vec::new();
    for lot in LotFolder::all(records)? {
        for folder in lot.modules()? {
            if folder.path().file_name().is_some_and(|name| name == module) {
                runs.extend(last_in(&folder)?);
            }
        }
    }
    let when = |run: &RunSummary| run.facts.started.parse::<jiff::Timestamp>().ok();
    Ok(runs.into_iter().max_by_key(|run| (!run.facts.simulated, when(run), run.facts.run)))
}

/// The reports of a module.
///
/// # Errors
/// When a run of it has no finished report.
pub fn all_finished(folder: &ModuleFolder) -> Result<Vec<u32>, RecordError> {
    let reports = folder.reports()?;
    match folder.journals()?.into_iter().find(|run| !reports.contains(run)) {
        Some(run) => Err(RecordError::Unfinished { path: folder.journal(run) }),
        None => Ok(reports),
    }
}

/// The last real run in the folder of a module, else the last one.
fn last_in(folder: &ModuleFolder) -> Result<Option<RunSummary>, RecordError> {
    let reports = all_finished(folder)?;
    let mut last = None;
    for run in reports.into_iter().rev() {
        let run = report::summary(&folder.report(run))?;
        if run.is_roll_call() {
            continue;
        }
        if !run.facts.simulated {
            return Ok(Some(run));
        }
        last = last.or(Some(run));
    }
    Ok(last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::reading::Verdict;
    use crate::record::example::{facts, record};
    use crate::record::facts::Facts;
    use crate::record::run_files;
    use std::fs;

    fn write(records: &Path, lot: &str, run: u32, started: &str, simulated: bool) {
        let folder = LotFolder::open(records, lot).unwrap().module("crane").unwrap();
        let facts = Facts {
            module: "crane".into(),
            lot: lot.into(),
            run,
            started: started.into(),
            simulated,
            ..facts()
        };
        let mut record = record(1, Verdict::Pass);
        record.facts = facts;
        run_files::write(&folder, &record).unwrap();
    }

    fn last(records: &Path) -> Option<(String, u32)> {
        last_run(records, "crane").unwrap().map(|run| (run.facts.lot, run.facts.run))
    }

    #[test]
    fn the_last_run_counts_and_a_real_one_before_a_simulated_one() {
        let folder = tempfile::tempdir().unwrap();
        let records = folder.path().join("records");
        assert_eq!(last(&records), None);
        LotFolder::open(&records, "spring").unwrap().module("crane").unwrap();
        assert_eq!(last(&records), None);
        write(&records, "spring", 1, "2026-03-01T10:00:00+00:00", true);
        write(&records, "spring", 2, "2026-03-02T10:00:00+00:00", true);
        assert_eq!(last(&records), Some(("spring".into(), 2)));
        write(&records, "autumn", 1, "2026-03-02T09:30:00-02:00", true);
        assert_eq!(last(&records), Some(("autumn".into(), 1)));
        write(&records, "spring", 3, "2025-12-01T10:00:00+00:00", false);
        write(&records, "spring", 4, "2026-03-03T10:00:00+00:00", true);
        assert_eq!(last(&records), Some(("spring".into(), 3)));
    }

    #[test]
    fn a_run_without_its_report_is_not_passed_over() {
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), "spring", 1, "2026-03-01T10:00:00+00:00", false);
        let module = LotFolder::open(folder.path(), "spring").unwrap().module("crane").unwrap();
        // Its report is there: only the removal of the journal was left to do.
        fs::write(module.journal(1), "").unwrap();
        assert_eq!(last(folder.path()), Some(("spring".into(), 1)));
        fs::write(module.journal(2), "").unwrap();
        let error = last_run(folder.path(), "crane").unwrap_err();
        assert!(error.is_bad_input() && error.to_string().contains("run-002.journal"), "{error}");
        fs::remove_file(module.journal(2)).unwrap();
        fs::write(module.report(2), "cut").unwrap();
        assert!(matches!(last_run(folder.path(), "crane"), Err(RecordError::Damaged { .. })));
    }
}
