//! How far a roll-call is.

use core::time::Duration;

/// How far it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stage<'a> {
    /// What is done now.
    pub words: &'a str,
    /// Packets sent so far.
    pub sent: u64,
    /// The most that may be sent.
    pub most: u64,
    /// The longest that all of it takes, by the jig's clock.
    pub at_most: Duration,
}
