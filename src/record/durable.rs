//! Files that are either whole or not there, also after a power cut.

use super::disk::Disk;
use super::error::{RecordError, io_error};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The ending of a file that is being written.
pub const PART: &str = "part";

/// Puts `bytes` at `path` in one step, in place of what is there: written beside it, made durable,
/// renamed. Who may read and write it stays as it was. On an error the old file stands untouched.
///
/// # Errors
/// When the system refuses.
pub fn replace(disk: &Disk, path: &Path, bytes: &[u8]) -> Result<(), RecordError> {
    put(disk, path, bytes, |part| disk.system().rename(part, path))
}

/// Puts `bytes` at `path` in one step, where nothing is yet.
///
/// # Errors
/// When something is there, or the system refuses.
pub fn create(disk: &Disk, path: &Path, bytes: &[u8]) -> Result<(), RecordError> {
    put(disk, path, bytes, |part| disk.system().rename_new(part, path))
}

fn put(
    disk: &Disk,
    path: &Path,
    bytes: &[u8],
    name: impl FnOnce(&Path) -> io::Result<()>,
) -> Result<(), RecordError> {
    let part = part_of(path);
    let written = (|| {
        let file = disk.create(&part, false)?;
        if let Ok(old) = fs::metadata(path) {
            file.file().set_permissions(old.permissions())?;
        }
        file.write(bytes, 0)?;
        file.sync()?;
        name(&part)
    })();
    if let Err(source) = written {
        // A half-written file would only take the space that is short already.
        let _ = disk.system().remove(&part);
        return Err(io_error("write", path)(source));
    }
    sync_folder_of(disk, path)
}

/// Where a file is written before it gets its name.
pub fn part_of(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".");
    name.push(PART);
    name.into()
}

/// Makes a file's name durable.
///
/// # Errors
/// When the system refuses.
pub fn sync_folder_of(disk: &Disk, path: &Path) -> Result<(), RecordError> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    disk.system().sync_folder(folder).map_err(io_error("write", folder))
}

/// Makes a folder and those above it, with their names durable.
///
/// # Errors
/// When the system refuses.
pub fn make_folder(disk: &Disk, path: &Path) -> Result<(), RecordError> {
    match fs::metadata(path) {
        Ok(about) if about.is_dir() => return Ok(()),
        Ok(_) => return Err(RecordError::NoFolder { path: path.to_path_buf() }),
        Err(_) => {}
    }
    if let Some(above) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
        make_folder(disk, above)?;
    }
    match disk.system().make_folder(path) {
        // Another run was faster.
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists && path.is_dir() => Ok(()),
        Err(e) => Err(io_error("make the folder", path)(e)),
        Ok(()) => sync_folder_of(disk, path),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_there_is_not_written_over() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("run-001.csv");
        create(&Disk::default(), &path, b"first").expect("written");
        create(&Disk::default(), &path, b"second").expect_err("must fail");
        assert_eq!(fs::read(&path).expect("there"), b"first");
        assert_eq!(fs::read_dir(folder.path()).expect("there").count(), 1);
    }

    #[test]
    fn a_failed_replacement_leaves_the_old_file_and_no_rest() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("lot.csv");
        replace(&Disk::default(), &path, b"old").expect("written");
        // A folder where the part file should go makes the writing fail for anyone, also for root.
        fs::create_dir(part_of(&path)).expect("made");
        let error = replace(&Disk::default(), &path, b"new").expect_err("must fail").to_string();
        assert!(error.starts_with("cannot write "), "{error}");
        assert_eq!(fs::read(&path).expect("there"), b"old");
    }
}
