//! Files.
//!
//! Locks bind everybody here: nobody else reads a file that is locked.

use core::mem::MaybeUninit;
use core::time::Duration;
use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind};
use std::os::windows::ffi::OsStrExt;
use std::os::windows::fs::FileExt;
use std::os::windows::io::AsRawHandle;
use std::path::{Path, absolute};
use windows_sys::Win32::Foundation::{
    ERROR_ACCESS_DENIED, ERROR_DELETE_PENDING, ERROR_SHARING_VIOLATION,
};
use windows_sys::Win32::Storage::FileSystem::{
    GetFileInformationByHandle, MOVE_FILE_FLAGS, MOVEFILE_REPLACE_EXISTING, MOVEFILE_WRITE_THROUGH,
    MoveFileExW,
};

/// The file that stands for a folder. No lot and no module can be called so.
const LOCK_FILE: &str = "_lock";

/// How often a file is tried that somebody looks at just then (a scanner for viruses, say), how long apart.
const TRIES: u32 = 40;
const APART: Duration = Duration::from_millis(25);

/// Writes all bytes at a place of a file.
///
/// # Errors
/// When the system refuses; so do all others.
pub fn write_at(file: &File, mut bytes: &[u8], mut at: u64) -> io::Result<()> {
    while !bytes.is_empty() {
        match file.seek_write(bytes, at) {
            Ok(0) => return Err(ErrorKind::WriteZero.into()),
            Ok(count) => {
                bytes = &bytes[count..];
                at += count as u64;
            }
            Err(e) if e.kind() == ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    Ok(())
}

/// Fills `into` from a place of a file.
///
/// # Errors
/// See [`write_at`]; also when the file ends before.
pub fn read_at(file: &File, mut into: &mut [u8], mut at: u64) -> io::Result<()> {
    while !into.is_empty() {
        match file.seek_read(into, at) {
            Ok(0) => return Err(ErrorKind::UnexpectedEof.into()),
            Ok(count) => {
                into = &mut into[count..];
                at += count as u64;
            }
            Err(e) if e.kind() == ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    Ok(())
}

/// Backs the file with real space from `from` on, `bytes` long, by writing zeros: a file that is only made
/// longer may have none behind it.
///
/// # Errors
/// When there is not enough space.
pub fn reserve(file: &File, from: u64, bytes: u64) -> io::Result<()> {
    let zeros = [0; 16 * 1024];
    // More than a disk has is refused before it is filled.
    file.set_len(file.metadata()?.len().max(from + bytes))?;
    let mut at = from;
    while at < from + bytes {
        let length = zeros.len().min((from + bytes - at) as usize);
        write_at(file, &zeros[..length], at)?;
        at += length as u64;
    }
    file.sync_all()
}

/// Gives a file another name, in place of a file that may have that name, in one step. It is durable when
/// this comes back.
///
/// # Errors
/// See [`write_at`].
pub fn rename(from: &Path, to: &Path) -> io::Result<()> {
    for _ in 1..TRIES {
        match renamed(from, to, MOVEFILE_REPLACE_EXISTING) {
            Err(e) if to.is_file() && is_in_use(&e) => std::thread::sleep(APART),
            renamed => return renamed,
        }
    }
    // This way goes also where somebody has the old file open, but is not known to be durable at once.
    std::fs::rename(from, to)
}

/// Gives a file another name that no file has. It is durable when this comes back.
///
/// # Errors
/// See [`write_at`].
pub fn rename_new(from: &Path, to: &Path) -> io::Result<()> {
    renamed(from, to, 0)
}

fn renamed(from: &Path, to: &Path, how: MOVE_FILE_FLAGS) -> io::Result<()> {
    let (from, to) = (wide(from)?, wide(to)?);
    // SAFETY: both are texts that end with zero, and live until the call is back.
    match unsafe { MoveFileExW(from.as_ptr(), to.as_ptr(), how | MOVEFILE_WRITE_THROUGH) } {
        0 => Err(io::Error::last_os_error()),
        _ => Ok(()),
    }
}

/// A whole path as the system takes it, however long it is.
fn wide(path: &Path) -> io::Result<Vec<u16>> {
    let path = absolute(path)?;
    let text = path.as_os_str().encode_wide();
    let slash = u16::from(b'\\');
    let text: Vec<u16> = text.collect();
    let prefix = match text[..] {
        [a, b, c, ..] if a == slash && b == slash && matches!(c as u8, b'?' | b'.') => "",
        [a, b, ..] if a == slash && b == slash => r"\\?\UNC\",
        _ => r"\\?\",
    };
    let skipped = if prefix.len() > 4 { 2 } else { 0 };
    Ok(prefix.encode_utf16().chain(text.into_iter().skip(skipped)).chain([0]).collect())
}

fn is_in_use(error: &io::Error) -> bool {
    let number = error.raw_os_error().map(|number| number as u32);
    matches!(number, Some(ERROR_ACCESS_DENIED | ERROR_SHARING_VIOLATION))
}

/// Makes durable which files are in a folder: renaming has done so already.
///
/// # Errors
/// When it is not there.
pub fn sync_folder(path: &Path) -> io::Result<()> {
    std::fs::metadata(path).map(drop)
}

/// A file that stands for a folder: whoever locks it has the folder. It stays there.
///
/// # Errors
/// See [`write_at`].
pub fn lock_file_of(folder: &Path) -> io::Result<File> {
    OpenOptions::new().create(true).truncate(false).write(true).open(folder.join(LOCK_FILE))
}

/// Whether the file of that name is this one: it may have been removed or replaced since it was opened.
pub fn is_there(file: &File, path: &Path) -> bool {
    let same = identity(file).zip(File::open(path).ok().and_then(|other| identity(&other)));
    same.is_some_and(|(one, other)| one == other)
}

/// The disk and the file's number there.
fn identity(file: &File) -> Option<(u32, u32, u32)> {
    let mut about = MaybeUninit::zeroed();
    // SAFETY: the handle is open, and there is room for the answer.
    if unsafe { GetFileInformationByHandle(file.as_raw_handle(), about.as_mut_ptr()) } == 0 {
        return None;
    }
    // SAFETY: the call said that it filled it.
    let about = unsafe { about.assume_init() };
    Some((about.dwVolumeSerialNumber, about.nFileIndexHigh, about.nFileIndexLow))
}

/// Whether a file is refused just because somebody is removing it: then it is gone in a moment.
pub fn is_being_removed(error: &io::Error) -> bool {
    let number = error.raw_os_error().map(|number| number as u32);
    matches!(number, Some(ERROR_ACCESS_DENIED | ERROR_DELETE_PENDING))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn what_is_reserved_reads_as_zeros_and_keeps_what_was_there() {
        let file = tempfile::tempfile().expect("a file");
        write_at(&file, b"kept", 0).expect("written");
        reserve(&file, 4, 100_000).expect("reserved");
        let mut all = vec![1; 100_004];
        read_at(&file, &mut all, 0).expect("read");
        assert!(all.starts_with(b"kept") && all[4..].iter().all(|b| *b == 0));
        assert!(read_at(&file, &mut all, 1).is_err(), "it ends before");
    }

    #[test]
    fn a_new_name_replaces_or_refuses() {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name);
        fs::write(at("one"), "1").expect("written");
        fs::write(at("two"), "2").expect("written");
        let refused = rename_new(&at("one"), &at("two")).expect_err("refused");
        assert_eq!(refused.kind(), ErrorKind::AlreadyExists);
        rename(&at("one"), &at("two")).expect("renamed");
        assert_eq!(fs::read(at("two")).expect("there"), b"1");
        rename_new(&at("two"), &at("three")).expect("renamed");
        assert!(!at("two").exists() && at("three").exists());
    }

    #[test]
    fn a_path_is_taken_however_long() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut deep = absolute(folder.path()).expect("a path");
        for _ in 0..8 {
            deep.push("a-folder-with-a-name-of-some-length");
        }
        fs::create_dir_all(&deep).expect("made");
        fs::write(deep.join("one"), "1").expect("written");
        rename_new(&deep.join("one"), &deep.join("two")).expect("renamed");
        assert!(deep.join("two").exists());
    }

    #[test]
    fn a_file_knows_whether_it_is_there() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("claim");
        let first = File::create(&path).expect("made");
        assert!(is_there(&first, &path));
        fs::rename(&path, folder.path().join("elsewhere")).expect("renamed");
        assert!(!is_there(&first, &path));
        let second = File::create(&path).expect("made");
        assert!(!is_there(&first, &path) && is_there(&second, &path));
    }

    #[test]
    fn a_folder_is_locked_by_one() {
        let folder = tempfile::tempdir().expect("a folder");
        let first = lock_file_of(folder.path()).expect("there");
        first.lock().expect("locked");
        assert!(lock_file_of(folder.path()).expect("there").try_lock().is_err());
        drop(first);
        lock_file_of(folder.path()).expect("there").try_lock().expect("free");
    }
}
