//! What these tests need: the firmware, built for its processor, and the emulator.

use crate::prepared::{self, prepare};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

const FOLDER: &str = "jig_emulator";

/// The folder of the emulator.
pub fn emulator() -> PathBuf {
    prepared::folder(FOLDER)
}

/// The firmware; fails with the reason where it cannot be built or run.
pub fn firmware() -> &'static Path {
    static FIRMWARE: OnceLock<Result<PathBuf, String>> = OnceLock::new();
    FIRMWARE.get_or_init(|| prepare(FOLDER)).as_deref().unwrap_or_else(|why| panic!("{why}"))
}
