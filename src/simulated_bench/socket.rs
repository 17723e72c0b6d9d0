//! A bench behind a socket: one client at a time.

use super::line::Line;
use crate::system::sockets;
use core::time::Duration;
use std::io::{self, ErrorKind, Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream, ToSocketAddrs};
use std::time::Instant;

/// A client that said nothing for so long has to give way to one that calls: its computer may be gone. Its
/// silence has turned the feed off long before.
const GIVES_WAY: Duration = Duration::from_secs(60);

/// How long a caller is let wait for the one before to go.
const WAITS: Duration = Duration::from_millis(500);

/// Where clients call, and the one that is served.
#[derive(Debug)]
pub struct Socket {
    listener: TcpListener,
    client: Option<Client>,
    /// Who called while somebody was there: a program that has just closed may call again at once.
    caller: Option<Client>,
    was_closed: bool,
}

#[derive(Debug)]
struct Client {
    stream: TcpStream,
    heard: Instant,
}

impl Client {
    fn of(stream: TcpStream) -> Option<Client> {
        // Lines are short, and each is waited for.
        stream.set_nonblocking(true).and_then(|()| stream.set_nodelay(true)).ok()?;
        Some(Client { stream, heard: Instant::now() })
    }
}

impl Socket {
    /// Listens at one of the addresses of a place.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn listen(at: impl ToSocketAddrs) -> io::Result<Self> {
        let listener = TcpListener::bind(at)?;
        listener.set_nonblocking(true)?;
        Ok(Socket { listener, client: None, caller: None, was_closed: false })
    }

    /// Where it listens.
    ///
    /// # Errors
    /// When the system does not say.
    pub fn address(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }

    /// Lets a caller in as soon as nobody is there. One that waits too long is turned away.
    fn answer(&mut self) {
        if self.caller.is_none() {
            // A caller that is gone already, or for whom the system has no room, is none.
            self.caller = self.listener.accept().ok().and_then(|(stream, _)| Client::of(stream));
        }
        if self.client.as_ref().is_some_and(|client| client.heard.elapsed() >= GIVES_WAY)
            && self.caller.is_some()
        {
            self.lose();
        }
        // First the bench is made safe, then the next one is heard.
        if self.client.is_none() && !self.was_closed {
            self.client = self.caller.take();
        }
        let _turned_away = self.caller.take_if(|caller| caller.heard.elapsed() >= WAITS);
    }

    /// The client is gone.
    fn lose(&mut self) -> usize {
        self.was_closed |= self.client.take().is_some();
        0
    }
}

impl Line for Socket {
    fn wait(&self, at_most: Duration, to_write: bool) -> io::Result<()> {
        let stream = self.client.as_ref().map(|client| &client.stream);
        let listener = self.caller.is_none().then_some(&self.listener);
        sockets::wait(listener, stream, to_write, at_most)
    }

    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        self.answer();
        if self.was_closed {
            return Ok(0);
        }
        let Some(client) = &mut self.client else { return Ok(0) };
        Ok(match client.stream.read(into) {
            Ok(0) => self.lose(),
            Ok(count) => {
                client.heard = Instant::now();
                count
            }
            Err(e) if is_busy(&e) => 0,
            Err(_) => self.lose(),
        })
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let Some(client) = self.client.as_mut().filter(|_| !bytes.is_empty()) else {
            // What is for nobody is gone.
            return Ok(bytes.len());
        };
        if self.was_closed {
            return Ok(bytes.len());
        }
        Ok(match client.stream.write(bytes) {
            Ok(count) => count,
            Err(e) if is_busy(&e) => 0,
            Err(_) => self.lose(),
        })
    }

    fn was_closed(&mut self) -> io::Result<bool> {
        Ok(core::mem::take(&mut self.was_closed))
    }
}

fn is_busy(error: &io::Error) -> bool {
    matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::Interrupted)
}
