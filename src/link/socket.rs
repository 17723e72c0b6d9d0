//! A jig behind a socket: a served bench, or a box that carries a serial line over a network.
//!
//! The bytes are those of a serial line. A network may be slow, but what it delivers is whole and in order; what
//! is sealed is sealed all the same.

use super::real_time::{Carrier, RealTime};
use super::transport::TransportError;
use crate::refused::words;
use crate::system::sockets;
use core::time::Duration;
use std::io::{ErrorKind, Read, Write};
use std::net::{SocketAddr, TcpStream, ToSocketAddrs};
use std::time::Instant;

/// What a port begins with that is behind a socket.
pub const PREFIX: &str = "tcp:";

/// How long a computer is waited for that may not be there.
const CALL_PATIENCE: Duration = Duration::from_secs(3);

/// How long the other end may refuse to take bytes before it counts as gone.
const WRITE_GUARD: Duration = Duration::from_secs(3);

/// A socket with the real clocks.
pub type SocketTransport = RealTime<SocketCarrier>;

/// The socket itself.
pub struct SocketCarrier {
    stream: TcpStream,
    name: String,
}

impl SocketTransport {
    /// Calls at a port such as `tcp:127.0.0.1:5025`.
    ///
    /// # Errors
    /// [`TransportError::Open`] with the reason and what to do.
    pub fn open(port: &str) -> Result<Self, TransportError> {
        let failed = |reason| TransportError::Open { port: port.into(), reason };
        let place = port.strip_prefix(PREFIX).unwrap_or(port);
        let stream = call(&addresses(place).map_err(failed)?).map_err(failed)?;
        // Lines are short, and each is waited for.
        let ready = stream.set_nodelay(true).and_then(|()| stream.set_nonblocking(true));
        ready.map_err(|error| failed(words(&error)))?;
        Ok(RealTime::over(SocketCarrier { stream, name: port.into() }))
    }
}

impl SocketCarrier {
    fn gone(&self, reason: impl Into<String>) -> TransportError {
        TransportError::Gone { port: self.name.clone(), reason: reason.into() }
    }

    fn wait(&self, to_write: bool, end: Instant) -> Result<(), TransportError> {
        let left = end.saturating_duration_since(Instant::now());
        sockets::wait(None, Some(&self.stream), to_write, left)
            .map_err(|error| self.gone(words(&error)))
    }
}

const CLOSED: &str = "its other end was closed; it is for one program at a time";
const STUCK: &str = "it takes no more bytes";

/// Where a place is, `HOST:PORT`.
fn addresses(place: &str) -> Result<Vec<SocketAddr>, String> {
    let sane = place
        .rsplit_once(':')
        .filter(|(host, port)| !host.is_empty() && port.parse::<u16>().is_ok_and(|port| port > 0));
    let Some((host, _)) = sane else {
        return Err("say a host and a port, such as tcp:127.0.0.1:5025".into());
    };
    let found = place.to_socket_addrs().map(Iterator::collect::<Vec<_>>).unwrap_or_default();
    if found.is_empty() {
        return Err(format!(
            "there is no computer called {host:?}; check the name, or give its number"
        ));
    }
    Ok(found)
}

fn call(addresses: &[SocketAddr]) -> Result<TcpStream, String> {
    let mut why = String::new();
    for address in addresses {
        match TcpStream::connect_timeout(address, CALL_PATIENCE) {
            Ok(stream) => return Ok(stream),
            Err(error) => {
                why = match error.kind() {
                    ErrorKind::ConnectionRefused => {
                        "nothing listens there; start the served bench, or check the port".into()
                    }
                    ErrorKind::TimedOut | ErrorKind::WouldBlock => {
                        "nobody answers there; check the host, and that it is switched on".into()
                    }
                    _ => words(&error),
                }
            }
        }
    }
    Err(why)
}

impl Carrier for SocketCarrier {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        let end = Instant::now() + WRITE_GUARD;
        let mut left = bytes;
        while !left.is_empty() {
            match self.stream.write(left) {
                Ok(0) => return Err(self.gone(CLOSED)),
                Ok(count) => left = &left[count..],
                Err(e) if e.kind() == ErrorKind::WouldBlock => {
                    if Instant::now() >= end {
                        return Err(self.gone(STUCK));
                    }
                    self.wait(true, end)?;
                }
                Err(e) if e.kind() == ErrorKind::Interrupted => {}
                Err(e) => return Err(self.gone(lost(&e))),
            }
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        self.wait(false, Instant::now() + timeout)?;
        match self.stream.read(into) {
            Ok(0) if !into.is_empty() => Err(self.gone(CLOSED)),
            Ok(count) => Ok(count),
            Err(e) if matches!(e.kind(), ErrorKind::WouldBlock | ErrorKind::Interrupted) => Ok(0),
            Err(e) => Err(self.gone(lost(&e))),
        }
    }
}

fn lost(error: &std::io::Error) -> String {
    match error.kind() {
        ErrorKind::ConnectionReset | ErrorKind::ConnectionAborted | ErrorKind::BrokenPipe => {
            CLOSED.into()
        }
        _ => words(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::transport::Transport;
    use std::net::TcpListener;

    const LONG: Duration = Duration::from_secs(20);

    fn pair() -> (TcpStream, SocketTransport) {
        let listener = TcpListener::bind("127.0.0.1:0").expect("bound");
        let port = format!("tcp:{}", listener.local_addr().expect("known"));
        let ours = SocketTransport::open(&port).expect("opened");
        (listener.accept().expect("came").0, ours)
    }

    #[test]
    fn bytes_pass_as_they_are() {
        let (mut other, mut ours) = pair();
        let all: Vec<u8> = (0..=255).collect();
        ours.send(&all).expect("sent");
        let mut came = vec![0; all.len()];
        other.read_exact(&mut came).expect("read");
        assert_eq!(came, all);
        other.write_all(&all).expect("sent");
        let mut came = Vec::new();
        let mut buffer = [0; 100];
        while came.len() < all.len() {
            let count = ours.receive(&mut buffer, LONG).expect("read");
            assert!(count > 0, "{} came", came.len());
            came.extend_from_slice(&buffer[..count]);
        }
        assert_eq!(came, all);
        assert_eq!(ours.receive(&mut buffer, Duration::from_millis(5)).expect("read"), 0);
    }

    #[test]
    fn an_end_that_goes_is_gone() {
        let (other, mut ours) = pair();
        drop(other);
        let gone = ours.receive(&mut [0; 8], LONG).expect_err("gone").to_string();
        assert!(gone.contains("its other end was closed"), "{gone}");
    }

    #[test]
    fn an_end_that_takes_nothing_is_given_up() {
        let (_other, mut ours) = pair();
        let stuck = (0..100_000).find_map(|_| ours.send(&[7; 65_536]).err());
        assert!(stuck.is_some_and(|e| e.to_string().contains(STUCK)));
    }

    #[test]
    fn what_cannot_be_called_is_told_in_a_sentence() {
        let free = TcpListener::bind("127.0.0.1:0").expect("bound").local_addr().expect("known");
        for (port, said) in [
            (format!("tcp:{free}"), "nothing listens there"),
            ("tcp:127.0.0.1".into(), "say a host and a port"),
            ("tcp::5025".into(), "say a host and a port"),
            ("tcp:127.0.0.1:0".into(), "say a host and a port"),
            ("tcp:127.0.0.1:99999".into(), "say a host and a port"),
            ("tcp:no-such-host.invalid:5025".into(), "there is no computer called"),
        ] {
            let why = SocketTransport::open(&port).err().expect("refused").to_string();
            assert!(
                why.starts_with(&format!("cannot open {port}: ")) && why.contains(said),
                "{why}"
            );
        }
    }
}
