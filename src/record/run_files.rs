//! The files that a finished run leaves: its report, then its facts file, the proof that it is whole.

use super::durable;
use super::error::{RecordError, io_error};
use super::folder::ModuleFolder;
use super::run_record::{RunRecord, RunSummary, sha256};
use std::io;

/// Writes them. A report that is there already is never overwritten; where it says the same, only
/// what is missing is written.
///
/// # Errors
/// When another report is there, or the system refuses.
pub fn write(folder: &ModuleFolder, record: &RunRecord) -> Result<RunSummary, RecordError> {
    let path = folder.report(record.facts.run);
    let report = record.report();
    match std::fs::read(&path) {
        Ok(there) if there == report => {}
        Ok(_) => return Err(RecordError::Taken { path }),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            durable::create(folder.disk(), &path, &report)?
        }
        Err(e) => return Err(io_error("read", &path)(e)),
    }
    let mut facts = record.facts_file(&report);
    let text = facts.to_json();
    durable::replace(folder.disk(), &folder.facts(record.facts.run), &text)?;
    facts.summary.facts_sha256 = Some(sha256(&text));
    Ok(facts.summary)
}
