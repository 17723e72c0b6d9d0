//! A command as a module reads it, whatever its format.

/// What a module takes from the feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Received {
    /// The address of the output, counted from 1 as people do.
    pub address: u16,
    /// The direction bit, 0 or 1.
    pub direction: u8,
    /// Whether the side is switched on (else: off).
    pub activate: bool,
}
