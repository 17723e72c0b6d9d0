//! A line to a jig that starts anew in the middle.

use super::shared_line::Shared;
use core::time::Duration;
use musterbench::link::simulated::JumpingBoard;
use musterbench::link::transport::{Transport, TransportError};

pub struct Restarting<B: JumpingBoard> {
    pub inner: Shared<B>,
    /// When it does, if it is still to do so.
    pub at: Option<Duration>,
}

impl<B: JumpingBoard> Restarting<B> {
    fn restart_when_due(&mut self) {
        if self.at.take_if(|at| *at <= self.inner.now()).is_some() {
            self.inner.0.borrow_mut().restart();
        }
    }
}

impl<B: JumpingBoard> Transport for Restarting<B> {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        self.restart_when_due();
        self.inner.send(bytes)
    }
    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        self.restart_when_due();
        self.inner.receive(into, timeout)
    }
    fn now(&self) -> Duration {
        self.inner.now()
    }
    fn pause(&mut self, time: Duration) {
        self.restart_when_due();
        self.inner.pause(time);
    }
    fn time_of_day(&self) -> jiff::ZonedDateTime {
        self.inner.time_of_day()
    }
}
