//! A line outside this process, with the clocks of this computer.

use super::transport::{Transport, TransportError};
use core::time::Duration;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// What carries the bytes: as [`Transport`] says, without its clocks.
pub trait Carrier {
    /// See [`Transport::send`].
    ///
    /// # Errors
    /// [`TransportError::Gone`].
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError>;

    /// See [`Transport::receive`].
    ///
    /// # Errors
    /// [`TransportError::Gone`].
    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError>;

    /// See [`Transport::others`].
    fn others(&self) -> Option<String> {
        None
    }
}

/// A line with the real clocks.
pub struct RealTime<C> {
    carrier: C,
    start: Instant,
    stop: Option<&'static AtomicBool>,
}

impl<C> RealTime<C> {
    /// Its clock begins now.
    pub(super) fn over(carrier: C) -> Self {
        RealTime { carrier, start: Instant::now(), stop: None }
    }

    /// Once this is set, a jig that says nothing is not asked again.
    #[must_use]
    pub fn until(mut self, stop: &'static AtomicBool) -> Self {
        self.stop = Some(stop);
        self
    }
}

impl<C: Carrier> Transport for RealTime<C> {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        self.carrier.send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        self.carrier.receive(into, timeout)
    }

    fn now(&self) -> Duration {
        self.start.elapsed()
    }

    fn pause(&mut self, time: Duration) {
        std::thread::sleep(time);
    }

    fn time_of_day(&self) -> jiff::ZonedDateTime {
        jiff::ZonedDateTime::now()
    }

    fn is_stopping(&self) -> bool {
        self.stop.is_some_and(|stop| stop.load(Ordering::Relaxed))
    }

    fn others(&self) -> Option<String> {
        self.carrier.others()
    }
}
