//! A serial device for this program alone.
//!
//! Every call ends in its time. A device that somebody else reads as well may say that bytes have come
//! and then have none: that is no reason to wait for ever.

use core::fmt;

#[cfg(unix)]
pub use super::unix::serial::Device;
#[cfg(windows)]
pub use super::windows::serial::Device;

/// The line's speed, in bits per second. USB serial ignores it.
pub const BAUD: u32 = 115_200;

/// The serial devices that the system lists.
pub fn listed() -> Vec<serialport::SerialPortInfo> {
    // Without this directory the enumeration panics (a container, say).
    if cfg!(target_os = "linux") && !std::path::Path::new("/sys/class/tty").is_dir() {
        return Vec::new();
    }
    serialport::available_ports().unwrap_or_default()
}

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

/// Another program that has a device open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Holder {
    /// The number of its process.
    pub process: u32,
    /// Its name, safe to show.
    pub name: String,
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} (process {})", self.name, self.process)
    }
}
