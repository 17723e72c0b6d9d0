//! Reads files that people name: only plain ones, and none without end.

use super::error::{RecordError, io_error};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// The most bytes of a report or facts file: a run of a whole day has less.
const MOST: u64 = 256 << 20;

/// The bytes of a plain file.
///
/// # Errors
/// When it cannot be read, is no plain file, or is too large to be ours.
pub fn read(path: &Path) -> Result<Vec<u8>, RecordError> {
    let strange = |why: &str| RecordError::NotPlain { path: path.to_path_buf(), why: why.into() };
    // Asked before it is opened: opening a pipe that nobody writes to would hang.
    if !std::fs::metadata(path).map_err(io_error("read", path))?.is_file() {
        return Err(strange("is not a plain file"));
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(io_error("read", path))?;
    file.take(MOST + 1).read_to_end(&mut bytes).map_err(io_error("read", path))?;
    if bytes.len() as u64 > MOST {
        return Err(strange("is larger than any report"));
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_files_are_read() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("run-001.csv");
        std::fs::write(&path, "a").expect("written");
        assert_eq!(read(&path).expect("read"), b"a");
        let error = read(folder.path()).expect_err("refused");
        assert!(error.to_string().ends_with("is not a plain file: check the path"), "{error}");
    }

    #[cfg(unix)]
    #[test]
    fn pipes_and_devices_are_not_read() {
        let folder = tempfile::tempdir().expect("a folder");
        let pipe = folder.path().join("pipe");
        rustix::fs::mknodat(
            rustix::fs::CWD,
            &pipe,
            rustix::fs::FileType::Fifo,
            rustix::fs::Mode::RUSR | rustix::fs::Mode::WUSR,
            0,
        )
        .expect("a pipe");
        for strange in [&pipe, Path::new("/dev/zero")] {
            let error = read(strange).expect_err("refused");
            assert!(error.is_bad_input(), "{error}");
            assert!(error.to_string().ends_with("is not a plain file: check the path"), "{error}");
        }
    }
}
