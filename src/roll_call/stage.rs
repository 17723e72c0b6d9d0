//! How far a roll-call is.

/// How far it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stage<'a> {
    /// What is done now.
    pub words: &'a str,
    /// Packets sent so far.
    pub sent: u64,
    /// The most that may be sent.
    pub most: u64,
}
