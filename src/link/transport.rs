//! One trait for whatever carries bytes to a jig, with the clock that goes with it.

use crate::wire::tree::Order;
use crate::wire::values::AnswerValues;
use core::time::Duration;
use thiserror::Error;

/// What can go wrong below the language.
#[derive(Debug, Error)]
pub enum TransportError {
    /// The device cannot be opened.
    #[error("cannot open {port}: {reason}")]
    Open {
        /// The device.
        port: String,
        /// Why, in the system's words.
        reason: String,
    },
    /// The device went away.
    #[error("the device at {port} is gone: {reason}")]
    Gone {
        /// The device.
        port: String,
        /// Why, in the system's words.
        reason: String,
    },
}

/// Bytes to and from a jig.
///
/// The clock belongs to the transport, since a simulated bench's time jumps. It guards against a
/// dead line and stamps records; all that is measured is timed by the jig.
pub trait Transport {
    /// Sends all bytes.
    ///
    /// # Errors
    /// [`TransportError::Gone`].
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError>;

    /// Takes what has come, at most `into.len()` bytes; waits for the first one at most `timeout`.
    /// Returns 0 when nothing came.
    ///
    /// # Errors
    /// [`TransportError::Gone`].
    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError>;

    /// A monotonic clock.
    fn now(&self) -> Duration;

    /// Lets time pass.
    fn pause(&mut self, time: Duration);

    /// The time of day, with the offset of the place.
    fn time_of_day(&self) -> jiff::ZonedDateTime;

    /// The jig itself, where it lives in this very process and takes orders as values.
    fn jig_beside(&mut self) -> Option<&mut dyn JigBeside> {
        None
    }

    /// Whether the operator wants to stop: then a jig that says nothing is not asked again.
    fn is_stopping(&self) -> bool {
        false
    }

    /// Which other programs have the device open, where that is known: they may take what the jig
    /// says.
    fn others(&self) -> Option<String> {
        None
    }
}

/// A jig in the same process: what goes to it and comes back are the values of the language, not their
/// text. All else, from its guards to its clock, is as on a line that takes no time.
pub trait JigBeside {
    /// Has orders carried out up to the first that is refused, in the session that is open. They
    /// take at most `longest`; `None`: there was no end to them.
    fn carry_out(&mut self, orders: Vec<Order<'_>>, longest: Duration) -> Option<Carried>;
}

/// What came of orders.
#[derive(Debug)]
pub struct Carried {
    /// What they were answered with.
    pub answers: AnswerValues,
    /// All of them were carried out.
    pub whole: bool,
}
