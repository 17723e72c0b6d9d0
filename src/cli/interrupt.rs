//! Ctrl-C and the polite ways to end a program.

use super::command_result::{CommandError, OrExit};
use anyhow::Context;
use std::sync::atomic::{AtomicBool, Ordering};

static STOP: AtomicBool = AtomicBool::new(false);

/// The flag itself, set or not.
pub fn stop() -> &'static AtomicBool {
    &STOP
}

/// From now on Ctrl-C, `kill` and a closed terminal set this flag, and do no more however often
/// they come: whoever looks at it turns the feed off and keeps what was read.
///
/// # Errors
/// When the system refuses.
pub fn flag() -> Result<&'static AtomicBool, CommandError> {
    ctrlc::set_handler(|| STOP.store(true, Ordering::Relaxed))
        .context("cannot listen for Ctrl-C")
        .or_bench()?;
    Ok(&STOP)
}
