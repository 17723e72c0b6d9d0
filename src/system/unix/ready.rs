//! Waiting for files, devices and sockets.

use core::time::Duration;
use rustix::event::{PollFd, Timespec, poll};
use rustix::io::{Errno, Result};

/// Waits until one of them is ready, no longer than `at_most`; says how many are. A signal ends the wait too, with
/// none.
///
/// # Errors
/// When the system refuses.
pub fn ready(watched: &mut [PollFd<'_>], at_most: Duration) -> Result<usize> {
    let timeout = Timespec {
        tv_sec: at_most.as_secs().try_into().unwrap_or(i64::MAX),
        tv_nsec: at_most.subsec_nanos().into(),
    };
    match poll(watched, Some(&timeout)) {
        Err(Errno::INTR) => Ok(0),
        waited => waited,
    }
}
