//! Where the records of a lot and of a module lie, and who may touch them when.

use super::disk::Disk;
use super::durable;
use super::error::{RecordError, io_error};
use super::{names, old_format};
use crate::system::files;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

/// The endings of a run's files.
const REPORT: &str = "csv";
const FACTS: &str = "facts.json";
const JOURNAL: &str = "journal";
const CAPTURES: &str = "captures.gz";
const OLDER_REPORT: &str = "csv.before-format-1";

/// A file's name by the number of its run.
fn file_name(run: u32, ending: &str) -> String {
    format!("run-{run:03}.{ending}")
}

/// The name of a finished report.
pub fn report_name(run: u32) -> String {
    file_name(run, REPORT)
}

/// The run that a file belongs to, when its name is one of ours with this ending.
fn run_of(name: &str, ending: &str) -> Option<u32> {
    let run = name.strip_prefix("run-")?.strip_suffix(ending)?.strip_suffix('.')?.parse().ok()?;
    (file_name(run, ending) == name).then_some(run)
}

/// The run that a file belongs to, whatever its ending, when its name is one of ours.
fn any_run_of(name: &str) -> Option<u32> {
    let (run, _) = name.strip_prefix("run-")?.split_once('.')?;
    let run = run.parse().ok()?;
    name.starts_with(&file_name(run, "")).then_some(run)
}

/// The facts file that goes with a report.
pub fn facts_beside(report: &Path) -> PathBuf {
    report.with_extension(FACTS)
}

/// A lock on a folder, held until dropped or until the process is gone.
#[derive(Debug)]
pub struct FolderLock(#[expect(dead_code, reason = "held, not read")] File);

/// Takes the lock of a folder; waits while another has it.
///
/// # Errors
/// When the system refuses.
pub fn lock(folder: &Path) -> Result<FolderLock, RecordError> {
    let file = files::lock_file_of(folder).map_err(io_error("open", folder))?;
    file.lock().map_err(io_error("lock", folder))?;
    Ok(FolderLock(file))
}

/// The folder of a lot.
#[derive(Clone, Debug)]
pub struct LotFolder {
    path: PathBuf,
    disk: Disk,
}

impl LotFolder {
    /// Opens the folder of a lot and makes it where it is missing.
    ///
    /// # Errors
    /// When the name is not sane or the folder cannot be written.
    pub fn open(records: &Path, lot: &str) -> Result<Self, RecordError> {
        Self::open_on(&Disk::default(), records, lot)
    }

    /// The same on another disk.
    ///
    /// # Errors
    /// The same.
    pub fn open_on(disk: &Disk, records: &Path, lot: &str) -> Result<Self, RecordError> {
        names::check("lot", lot)?;
        let folder = LotFolder { path: records.join(lot), disk: disk.clone() };
        durable::make_folder(disk, &folder.path)?;
        Ok(folder)
    }

    /// The lots that are there, in order of their names.
    ///
    /// # Errors
    /// When the records cannot be read.
    pub fn all(records: &Path) -> Result<Vec<Self>, RecordError> {
        Ok(folders(records, "lot")?
            .into_iter()
            .map(|path| LotFolder { path, disk: Disk::default() })
            .collect())
    }

    /// The folder of one of its modules, made where it is missing.
    ///
    /// # Errors
    /// When the name is not sane or the folder cannot be written.
    pub fn module(&self, module: &str) -> Result<ModuleFolder, RecordError> {
        names::check("module", module)?;
        let folder = ModuleFolder { path: self.path.join(module), disk: self.disk.clone() };
        durable::make_folder(&self.disk, &folder.path)?;
        Ok(folder)
    }

    /// The modules that are there, in order of their names.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn modules(&self) -> Result<Vec<ModuleFolder>, RecordError> {
        let modules = folders(&self.path, "module")?;
        let disk = || self.disk.clone();
        Ok(modules.into_iter().map(|path| ModuleFolder { path, disk: disk() }).collect())
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The disk that it lies on.
    pub fn disk(&self) -> &Disk {
        &self.disk
    }

    /// Its `lot.csv`.
    pub fn lot_csv(&self) -> PathBuf {
        self.path.join(names::LOT_CSV)
    }

    /// Keeps other runs from changing `lot.csv`.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn lock(&self) -> Result<FolderLock, RecordError> {
        lock(&self.path)
    }
}

/// The folder of a module.
#[derive(Clone, Debug)]
pub struct ModuleFolder {
    path: PathBuf,
    disk: Disk,
}

impl ModuleFolder {
    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The disk that it lies on.
    pub fn disk(&self) -> &Disk {
        &self.disk
    }

    /// The report of a run.
    pub fn report(&self, run: u32) -> PathBuf {
        self.path.join(report_name(run))
    }

    /// The journal of a run.
    pub fn journal(&self, run: u32) -> PathBuf {
        self.path.join(file_name(run, JOURNAL))
    }

    /// The facts file of a run.
    pub fn facts(&self, run: u32) -> PathBuf {
        self.path.join(file_name(run, FACTS))
    }

    /// The journals that had hardly been begun when the power went: nothing is in them yet. Take the lock
    /// first, else one may be of a run that is just beginning.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn hardly_begun(&self) -> Result<Vec<PathBuf>, RecordError> {
        let runs = self.runs(&[&format!("{JOURNAL}.{}", durable::PART)])?;
        Ok(runs.into_iter().map(|run| durable::part_of(&self.journal(run))).collect())
    }

    /// The captures that are kept of a run.
    pub fn captures(&self, run: u32) -> PathBuf {
        self.path.join(file_name(run, CAPTURES))
    }

    /// Where the report of a run is kept that was of an older format.
    pub fn older_report(&self, run: u32) -> PathBuf {
        self.path.join(file_name(run, OLDER_REPORT))
    }

    /// The runs whose report is of an older format, or was about to be converted, in order.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn older_reports(&self) -> Result<Vec<u32>, RecordError> {
        let mut runs = Vec::new();
        for run in self.runs(&[REPORT])? {
            let path = self.report(run);
            let bytes = fs::read(&path).map_err(io_error("read", &path))?;
            if old_format::is_report(&bytes) {
                runs.push(run);
            }
        }
        for run in self.runs(&[OLDER_REPORT])? {
            if !self.facts(run).exists() {
                runs.push(run);
            }
        }
        Ok(runs)
    }

    /// The runs that have a facts file, in order.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn facts_files(&self) -> Result<Vec<u32>, RecordError> {
        self.runs(&[FACTS])
    }

    /// The runs that have a finished report, in order.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn reports(&self) -> Result<Vec<u32>, RecordError> {
        self.runs(&[REPORT])
    }

    /// The runs that have a journal, in order.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn journals(&self) -> Result<Vec<u32>, RecordError> {
        self.runs(&[JOURNAL])
    }

    /// The number for the next run. Take the lock first.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn next_run(&self) -> Result<u32, RecordError> {
        let last = self.numbers(any_run_of)?.pop().unwrap_or(0);
        Ok(last.saturating_add(1))
    }

    /// Keeps other runs from taking numbers or recovering journals here.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn lock(&self) -> Result<FolderLock, RecordError> {
        lock(&self.path)
    }

    fn runs(&self, endings: &[&str]) -> Result<Vec<u32>, RecordError> {
        self.numbers(|name| endings.iter().find_map(|ending| run_of(name, ending)))
    }

    /// The numbers that names in the folder have, in order.
    fn numbers(&self, of: impl Fn(&str) -> Option<u32>) -> Result<Vec<u32>, RecordError> {
        let mut runs = Vec::new();
        for entry in fs::read_dir(&self.path).map_err(io_error("read", &self.path))? {
            let name = entry.map_err(io_error("read", &self.path))?.file_name();
            runs.extend(name.to_str().and_then(&of));
        }
        runs.sort_unstable();
        Ok(runs)
    }
}

/// The folders in a folder that have sane names, in order.
fn folders(path: &Path, what: &'static str) -> Result<Vec<PathBuf>, RecordError> {
    let mut folders = Vec::new();
    for entry in fs::read_dir(path).map_err(io_error("read", path))? {
        let entry = entry.map_err(io_error("read", path))?;
        let is_sane = entry.file_name().to_str().is_some_and(|n| names::check(what, n).is_ok());
        if is_sane && entry.path().is_dir() {
            folders.push(entry.path());
        }
    }
    folders.sort();
    Ok(folders)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_go_on_after_the_last_one_whatever_became_of_it() {
        let records = tempfile::tempdir().expect("a folder");
        let lot = LotFolder::open(records.path(), "quay").expect("made");
        let module = lot.module("P4-1").expect("made");
        assert_eq!(module.next_run().expect("read"), 1);
        for name in ["run-001.csv", "run-004.journal", "run-9.csv", "run-0077.csv", "run-1000.csv"]
        {
            fs::write(module.path().join(name), "").expect("written");
        }
        assert_eq!(module.reports().expect("read"), [1, 1000]);
        assert_eq!(module.journals().expect("read"), [4]);
        assert_eq!(module.next_run().expect("read"), 1001);
        for (left, next) in [
            ("run-1001.csv.part", 1002),
            ("run-1002.journal.damaged-1", 1003),
            ("run-1003.facts.json", 1004),
            ("run-1004.csv.before-format-1", 1005),
        ] {
            fs::write(module.path().join(left), "").expect("written");
            assert_eq!(module.next_run().expect("read"), next, "{left}");
        }
    }

    #[test]
    fn a_records_folder_that_is_a_file_gives_one_sentence() {
        let records = tempfile::NamedTempFile::new().expect("a file");
        let error = LotFolder::open(records.path(), "quay").expect_err("must fail");
        assert!(error.to_string().contains(" is no folder: "), "{error}");
        assert!(error.is_bad_input());
    }
}
