//! The version of the language.

use core::fmt;

/// The version that both ends must share (`SYSTem:PROTocol?`).
pub const PROTOCOL: Version = Version { major: 2, minor: 2 };

/// A version: two numbers with a point between them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Version {
    /// Ends with another number do not understand each other.
    pub major: u16,
    /// Another number: something was added.
    pub minor: u16,
}

impl fmt::Display for Version {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.major, self.minor)
    }
}
