//! Files.

use rustix::fs::{CWD, RenameFlags, renameat_with};
use rustix::io::Errno;
use std::fs::{self, File};
use std::io;
use std::os::unix::fs::{FileExt, MetadataExt};
use std::path::Path;

pub use super::space::reserve;

/// Writes all bytes at a place of a file.
///
/// # Errors
/// When the system refuses; so do all others.
pub fn write_at(file: &File, bytes: &[u8], at: u64) -> io::Result<()> {
    file.write_all_at(bytes, at)
}

/// Fills `into` from a place of a file.
///
/// # Errors
/// See [`write_at`]; also when the file ends before.
pub fn read_at(file: &File, into: &mut [u8], at: u64) -> io::Result<()> {
    file.read_exact_at(into, at)
}

/// Gives a file another name, in place of a file that may have that name, in one step.
///
/// # Errors
/// See [`write_at`].
pub fn rename(from: &Path, to: &Path) -> io::Result<()> {
    fs::rename(from, to)
}

/// Gives a file another name that no file has.
///
/// # Errors
/// See [`write_at`].
pub fn rename_new(from: &Path, to: &Path) -> io::Result<()> {
    match renameat_with(CWD, from, CWD, to, RenameFlags::NOREPLACE) {
        // Some file systems do not know the call.
        Err(Errno::INVAL | Errno::NOSYS | Errno::NOTSUP) if !to.exists() => fs::rename(from, to),
        Err(refused) => Err(refused.into()),
        Ok(()) => Ok(()),
    }
}

/// Makes durable which files are in a folder, and how they are called.
///
/// # Errors
/// See [`write_at`].
pub fn sync_folder(path: &Path) -> io::Result<()> {
    File::open(path)?.sync_all()
}

/// A file that stands for a folder: whoever locks it has the folder.
///
/// # Errors
/// See [`write_at`].
pub fn lock_file_of(folder: &Path) -> io::Result<File> {
    File::open(folder)
}

/// Whether the file of that name is this one: it may have been removed or replaced since it was opened.
pub fn is_there(file: &File, path: &Path) -> bool {
    let same = file.metadata().ok().zip(fs::metadata(path).ok());
    same.is_some_and(|(one, other)| (one.dev(), one.ino()) == (other.dev(), other.ino()))
}

/// Whether a file is refused just because somebody is removing it: then it is gone in a moment.
pub fn is_being_removed(_: &io::Error) -> bool {
    false
}
