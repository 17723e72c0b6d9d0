//! Waiting for sockets.

use super::ready::ready;
use core::time::Duration;
use rustix::event::{PollFd, PollFlags};
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
    ready(&mut watched, at_most)?;
    Ok(())
}
