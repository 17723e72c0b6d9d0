//! Waiting for sockets.

use core::time::Duration;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::io::Errno;
use std::io;
use std::net::{TcpListener, TcpStream};

/// Waits until somebody calls at the listener, the stream has something to read or is gone, or (`to_write`)
/// takes bytes; no longer than `at_most`.
///
/// # Errors
/// When the system refuses.
pub fn wait(
    listener: Option<&TcpListener>,
    stream: Option<&TcpStream>,
    to_write: bool,
    at_most: Duration,
) -> io::Result<()> {
    let wanted = if to_write { PollFlags::IN | PollFlags::OUT } else { PollFlags::IN };
    let calls = listener.map(|listener| PollFd::new(listener, PollFlags::IN));
    let bytes = stream.map(|stream| PollFd::new(stream, wanted));
    let mut watched: Vec<PollFd<'_>> = calls.into_iter().chain(bytes).collect();
    let timeout = Timespec {
        tv_sec: at_most.as_secs().try_into().unwrap_or(i64::MAX),
        tv_nsec: at_most.subsec_nanos().into(),
    };
    match poll(&mut watched, Some(&timeout)) {
        Ok(_) | Err(Errno::INTR) => Ok(()),
        Err(refused) => Err(refused.into()),
    }
}
