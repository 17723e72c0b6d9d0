//! A serial device for this program alone. What the systems do differently stands in a file each.
//!
//! Every call ends in its time. A device that somebody else reads as well may say that bytes have come
//! and then have none: that is no reason to wait for ever.

#[cfg(not(unix))]
mod elsewhere;
mod holders;
#[cfg(unix)]
mod unix;

#[cfg(not(unix))]
pub use elsewhere::Device;
pub use holders::{Holder, holders};
#[cfg(unix)]
pub use unix::Device;

/// The line's speed, in bits per second. USB serial ignores it.
pub const BAUD: u32 = 115_200;

/// Why a device cannot be opened.
#[derive(Debug)]
pub enum CannotOpen {
    /// There is none of this name.
    Missing,
    /// This user may not open it.
    Forbidden,
    /// Somebody else has it.
    Taken,
    /// It is something else than a serial device.
    NotSerial,
    /// Whatever else, in the system's words.
    System(String),
}

/// Why bytes do not come or go.
#[derive(Debug)]
pub enum Lost {
    /// The device was unplugged, or its other end closed.
    HungUp,
    /// It takes no more bytes.
    Stuck,
    /// Whatever else, in the system's words.
    System(String),
}

#[cfg(all(test, unix))]
mod tests;
