//! The jig's language: IEEE 488.2 messages with a SCPI-1999 tree, one definition for both ends.
//!
//! Stands on the ground: knows no jig and no transport. `no_std`, no allocator.

pub mod channel;
pub mod preamble;
pub mod tree;

/// The longest line that the jig takes, terminator not counted. Beyond: error -363.
pub const LINE_MAX: usize = 512;

/// The largest block of samples that one answer to a *sealed* line carries, in bytes.
pub const SEALED_BLOCK_MAX: usize = 4096;

/// The version of the language that both ends must share (`SYSTem:PROTocol?`): `major.minor`.
/// Ends with the same major number understand each other.
pub const PROTOCOL: &str = "1.0";
