//! Files that are either whole or not there, also after a power cut.

use super::error::{RecordError, io_error};
use rustix::fs::{CWD, RenameFlags, renameat_with};
use rustix::io::Errno;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The ending of a file that is being written.
pub const PART: &str = "part";

/// Puts `bytes` at `path` in one step, in place of what is there: written beside it, made durable,
/// renamed. Who may read and write it stays as it was. On an error the old file stands untouched.
///
/// # Errors
/// When the system refuses.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), RecordError> {
    put(path, bytes, |part| fs::rename(part, path))
}

/// Puts `bytes` at `path` in one step, where nothing is yet.
///
/// # Errors
/// When something is there, or the system refuses.
pub fn create(path: &Path, bytes: &[u8]) -> Result<(), RecordError> {
    put(path, bytes, |part| match renameat_with(CWD, part, CWD, path, RenameFlags::NOREPLACE) {
        // Some file systems do not know the call.
        Err(Errno::INVAL | Errno::NOSYS) if !path.exists() => fs::rename(part, path),
        Err(refused) => Err(refused.into()),
        Ok(()) => Ok(()),
    })
}

fn put(
    path: &Path,
    bytes: &[u8],
    name: impl FnOnce(&Path) -> io::Result<()>,
) -> Result<(), RecordError> {
    let part = part_of(path);
    let written = (|| {
        let mut file = OpenOptions::new().write(true).create(true).truncate(true).open(&part)?;
        if let Ok(old) = fs::metadata(path) {
            file.set_permissions(old.permissions())?;
        }
        file.write_all(bytes)?;
        file.sync_all()?;
        name(&part)
    })();
    if let Err(source) = written {
        // A half-written file would only take the space that is short already.
        let _ = fs::remove_file(&part);
        return Err(io_error("write", path)(source));
    }
    sync_folder_of(path)
}

/// Where a file is written before it gets its name.
fn part_of(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".");
    name.push(PART);
    name.into()
}

/// Makes a file's name durable.
///
/// # Errors
/// When the system refuses.
pub fn sync_folder_of(path: &Path) -> Result<(), RecordError> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    File::open(folder).and_then(|f| f.sync_all()).map_err(io_error("write", folder))
}

/// Makes a folder and those above it, with their names durable.
///
/// # Errors
/// When the system refuses.
pub fn make_folder(path: &Path) -> Result<(), RecordError> {
    match fs::metadata(path) {
        Ok(about) if about.is_dir() => return Ok(()),
        Ok(_) => return Err(RecordError::NoFolder { path: path.to_path_buf() }),
        Err(_) => {}
    }
    if let Some(above) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
        make_folder(above)?;
    }
    match fs::create_dir(path) {
        // Another run was faster.
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists && path.is_dir() => Ok(()),
        Err(e) => Err(io_error("make the folder", path)(e)),
        Ok(()) => sync_folder_of(path),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_there_is_not_written_over() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("run-001.csv");
        create(&path, b"first").expect("written");
        create(&path, b"second").expect_err("must fail");
        assert_eq!(fs::read(&path).expect("there"), b"first");
        assert_eq!(fs::read_dir(folder.path()).expect("there").count(), 1);
    }

    #[test]
    fn a_failed_replacement_leaves_the_old_file_and_no_rest() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("lot.csv");
        replace(&path, b"old").expect("written");
        // A folder where the part file should go makes the writing fail for anyone, also for root.
        fs::create_dir(part_of(&path)).expect("made");
        let error = replace(&path, b"new").expect_err("must fail").to_string();
        assert!(error.starts_with("cannot write "), "{error}");
        assert_eq!(fs::read(&path).expect("there"), b"old");
    }
}
