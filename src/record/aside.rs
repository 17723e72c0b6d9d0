//! Damaged files are kept, beside what replaces them.

use super::disk::Disk;
use super::durable;
use super::error::{RecordError, io_error};
use std::io;
use std::path::{Path, PathBuf};

/// How the name of a file that was kept aside goes on.
const KEPT: &str = "damaged";

/// Gives a file a name of its own beside its place: `….damaged-1` and so on. Gives that back; `None`
/// when there is no such file.
///
/// # Errors
/// When the system refuses.
pub fn keep(disk: &Disk, path: &Path) -> Result<Option<PathBuf>, RecordError> {
    for number in 1_u32.. {
        let mut name = path.as_os_str().to_owned();
        name.push(format!(".{KEPT}-{number}"));
        let aside = PathBuf::from(name);
        if aside.exists() {
            continue;
        }
        return match disk.system().rename(path, &aside) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(e) => Err(io_error("move aside", path)(e)),
            Ok(()) => durable::sync_folder_of(disk, path).map(|()| Some(aside)),
        };
    }
    Ok(None)
}

/// The name that a file had before it was kept aside.
pub fn name_before(name: &str) -> Option<&str> {
    let (before, number) = name.rsplit_once(&format!(".{KEPT}-"))?;
    number.bytes().all(|b| b.is_ascii_digit()).then_some(before)
}
