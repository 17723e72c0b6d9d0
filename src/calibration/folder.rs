//! Where calibrations lie: `<folder>/<serial>.toml`.

use super::file::Calibration;
use crate::quantity::located::Located;
use std::path::{Path, PathBuf};

/// The folder unless told otherwise.
pub const DEFAULT: &str = "calibration";

/// The ending of a file.
const ENDING: &str = "toml";

/// The file of a jig. What a file's name cannot hold everywhere is written as `%` and two
/// hexadecimal digits.
pub fn path_of(folder: &Path, serial: &str) -> PathBuf {
    folder.join(format!("{}.{ENDING}", harmless(serial)))
}

/// Where an earlier calibration is kept once a new one takes its place.
pub fn earlier_path(folder: &Path, earlier: &Calibration) -> PathBuf {
    let (serial, date) = (harmless(&earlier.serial), harmless(earlier.last_date()));
    folder.join(format!("{serial}.before-{date}.{ENDING}"))
}

/// The calibration of a jig, if the folder has one.
///
/// # Errors
/// When there is a file, and it cannot be read or something in it is wrong.
pub fn find(folder: &Path, serial: &str) -> Result<Option<Calibration>, Located> {
    let path = path_of(folder, serial);
    if path.exists() { Calibration::read(&path).map(Some) } else { Ok(None) }
}

fn harmless(text: &str) -> String {
    let mut out = String::new();
    for (at, byte) in text.bytes().enumerate() {
        let is_plain = byte.is_ascii_alphanumeric()
            || matches!(byte, b'-' | b'_' | b'+')
            || (byte == b'.' && at > 0);
        if is_plain {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::file::tests::example;

    #[test]
    fn names_are_harmless() {
        let folder = Path::new("calibration");
        assert_eq!(path_of(folder, "SIM-1"), Path::new("calibration/SIM-1.toml"));
        assert_eq!(path_of(folder, "../1 b"), Path::new("calibration/%2E.%2F1%20b.toml"));
        assert_eq!(
            earlier_path(folder, &example()),
            Path::new("calibration/0042.before-2026-01-05T09%3A12%3A44+00%3A00.toml")
        );
    }

    #[test]
    fn a_folder_may_have_none() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(find(folder.path(), "0042"), Ok(None));
        std::fs::write(path_of(folder.path(), "0042"), example().to_toml()).unwrap();
        assert_eq!(find(folder.path(), "0042"), Ok(Some(example())));
        std::fs::write(path_of(folder.path(), "0042"), "format = ").unwrap();
        assert!(find(folder.path(), "0042").is_err());
    }
}
