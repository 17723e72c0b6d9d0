//! What a bench is served on.

use crate::system::pseudo_terminal::PseudoTerminal;
use core::time::Duration;
use std::io;

/// A line to one client at a time; clients may come and go.
pub trait Line {
    /// Waits until there is something to do on it, or bytes can be sent where that is wanted; no longer than
    /// `at_most`.
    ///
    /// # Errors
    /// When the system refuses; so do all others.
    fn wait(&self, at_most: Duration, to_write: bool) -> io::Result<()>;

    /// Takes what has come; 0 when nothing has.
    ///
    /// # Errors
    /// See [`Line::wait`].
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize>;

    /// Sends what fits; 0 when nothing does.
    ///
    /// # Errors
    /// See [`Line::wait`].
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize>;

    /// Whether the client has gone since the last time. The line is free for the next one then, and nothing is
    /// left on it.
    ///
    /// # Errors
    /// See [`Line::wait`].
    fn was_closed(&mut self) -> io::Result<bool>;
}

impl Line for PseudoTerminal {
    fn wait(&self, at_most: Duration, to_write: bool) -> io::Result<()> {
        PseudoTerminal::wait(self, at_most, to_write)
    }

    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        PseudoTerminal::read(self, into)
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        PseudoTerminal::write(self, bytes)
    }

    fn was_closed(&mut self) -> io::Result<bool> {
        PseudoTerminal::was_closed(self)
    }
}
