//! Which module somebody has in hand: two computers, or two musters on one, never take the same.
//!
//! A claim is a file of its own, locked for as long as the muster that made it has the module. A claim whose
//! muster is gone is no claim: the system lets the lock go.

use super::error::LotError;
use crate::record::RecordError;
use crate::record::durable;
use crate::record::folder::LotFolder;
use crate::system::files;
use core::time::Duration;
use std::fs::{File, OpenOptions, TryLockError};
use std::path::PathBuf;

/// The folder of the claims in that of the lot. No module can be called so.
const FOLDER: &str = "_claims";

/// How often a claim that is just being removed is tried again, and how long apart.
const REMOVALS: u32 = 200;
const REMOVAL: Duration = Duration::from_millis(5);

/// A module in hand.
#[derive(Debug)]
pub struct Claim {
    serial: String,
    path: PathBuf,
    /// Locked; the lock goes with it.
    _file: File,
}

impl Claim {
    /// Takes a module in hand. `None`: another muster has it.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn take(folder: &LotFolder, serial: &str) -> Result<Option<Claim>, LotError> {
        let claims = folder.path().join(FOLDER);
        durable::make_folder(folder.disk(), &claims)?;
        let path = claims.join(serial);
        let mut tries = 0;
        loop {
            let open = OpenOptions::new().create(true).truncate(false).write(true).open(&path);
            let file = match open {
                Err(source) if files::is_being_removed(&source) && tries < REMOVALS => {
                    tries += 1;
                    std::thread::sleep(REMOVAL);
                    continue;
                }
                open => open.map_err(|source| RecordError::Io {
                    doing: "open",
                    path: path.clone(),
                    source,
                })?,
            };
            match file.try_lock() {
                Err(TryLockError::WouldBlock) => return Ok(None),
                Err(TryLockError::Error(source)) => {
                    return Err(RecordError::Io { doing: "lock", path, source }.into());
                }
                // Whoever had it may have removed it between the opening and the lock.
                Ok(()) if !files::is_there(&file, &path) => {}
                Ok(()) => return Ok(Some(Claim { serial: serial.into(), path, _file: file })),
            }
        }
    }

    /// The module.
    pub fn serial(&self) -> &str {
        &self.serial
    }
}

/// The modules that a muster had in hand which is gone: it died with them seated.
///
/// # Errors
/// When the claims cannot be read.
pub fn left_behind(folder: &LotFolder) -> Result<Vec<String>, LotError> {
    let claims = folder.path().join(FOLDER);
    let wrong =
        |source| LotError::from(RecordError::Io { doing: "read", path: claims.clone(), source });
    let entries = match std::fs::read_dir(&claims) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        entries => entries.map_err(wrong)?,
    };
    let mut serials = Vec::new();
    for entry in entries {
        let serial = entry.map_err(wrong)?.file_name().to_string_lossy().into_owned();
        // Whoever can take it in hand knows that nobody has it.
        if Claim::take(folder, &serial)?.is_some() {
            serials.push(serial);
        }
    }
    serials.sort();
    Ok(serials)
}

impl Drop for Claim {
    fn drop(&mut self) {
        // Removed while it is still locked: whoever opens it now finds that it is not there any more.
        let _ = std::fs::remove_file(&self.path);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_module_is_in_one_hand_at_a_time() {
        let records = tempfile::tempdir().expect("a folder");
        let lot = LotFolder::open(records.path(), "spring").expect("made");
        let first = Claim::take(&lot, "pier-01").expect("asked").expect("free");
        assert!(Claim::take(&lot, "pier-01").expect("asked").is_none());
        let other = Claim::take(&lot, "pier-02").expect("asked").expect("free");
        assert_eq!((first.serial(), other.serial()), ("pier-01", "pier-02"));
        drop(first);
        assert!(Claim::take(&lot, "pier-01").expect("asked").is_some());
        assert!(lot.modules().expect("read").is_empty(), "a claim is no module");
    }

    #[test]
    fn many_hands_share_the_modules_without_a_quarrel() {
        let records = tempfile::tempdir().expect("a folder");
        let lot = LotFolder::open(records.path(), "spring").expect("made");
        let serials: Vec<String> = (0..20).map(|n| format!("pier-{n}")).collect();
        let taken = std::sync::Mutex::new(std::collections::HashSet::new());
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    for serial in serials.iter().cycle().take(400) {
                        let Some(claim) = Claim::take(&lot, serial).expect("asked") else {
                            continue;
                        };
                        assert!(
                            taken.lock().expect("there").insert(serial.clone()),
                            "{serial} twice"
                        );
                        std::thread::yield_now();
                        assert!(taken.lock().expect("there").remove(serial));
                        drop(claim);
                    }
                });
            }
        });
    }
}
