//! Waiting for sockets.

use core::time::Duration;
use std::io;
use std::net::{TcpListener, TcpStream};
use std::os::windows::io::AsRawSocket;
use windows_sys::Win32::Networking::WinSock::{
    POLLRDNORM, POLLWRNORM, SOCKET, SOCKET_ERROR, WSAGetLastError, WSAPOLLFD, WSAPoll,
};

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
    let watch = |socket: u64, events| WSAPOLLFD { fd: socket as SOCKET, events, revents: 0 };
    let wanted = if to_write { POLLRDNORM | POLLWRNORM } else { POLLRDNORM };
    let calls = listener.map(|listener| watch(listener.as_raw_socket(), POLLRDNORM));
    let bytes = stream.map(|stream| watch(stream.as_raw_socket(), wanted));
    let mut watched: Vec<WSAPOLLFD> = calls.into_iter().chain(bytes).collect();
    let milliseconds = i32::try_from(at_most.as_micros().div_ceil(1000)).unwrap_or(i32::MAX);
    if watched.is_empty() {
        // The call refuses an empty list.
        std::thread::sleep(at_most);
        return Ok(());
    }
    // SAFETY: the list is as long as is said, and lives until the call is back.
    let ready = unsafe { WSAPoll(watched.as_mut_ptr(), watched.len() as u32, milliseconds) };
    if ready == SOCKET_ERROR {
        // SAFETY: takes nothing.
        return Err(io::Error::from_raw_os_error(unsafe { WSAGetLastError() }));
    }
    Ok(())
}
