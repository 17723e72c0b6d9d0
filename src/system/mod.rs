//! What systems do each in its own way, behind functions that promise the same everywhere.
//!
//! | what | where |
//! | --- | --- |
//! | files: durable names, locks, space taken ahead, bytes at a place | `files` |
//! | the person's terminal: what was typed, waited for and thrown away | `terminal` |
//! | a serial device for this program alone | `serial` |
//! | waiting for sockets | `sockets` |
//! | who else has a device open, a device that this program serves | `holders`, `pseudo_terminal`, `lasting_name` |
//!
//! `unix` is what Linux and macOS share, `linux` what only Linux has, `elsewhere` what stands in for that on the
//! others, `windows` what Windows does. No other room asks which system it is on.

pub mod serial;
pub mod typed;

#[cfg(not(target_os = "linux"))]
mod elsewhere;
#[cfg(target_os = "linux")]
mod linux;
#[cfg(unix)]
mod unix;
#[cfg(windows)]
mod windows;

#[cfg(not(target_os = "linux"))]
pub use elsewhere::{holders, lasting_name, pseudo_terminal};
#[cfg(target_os = "linux")]
pub use linux::{holders, lasting_name, pseudo_terminal};
#[cfg(unix)]
pub use unix::{files, sockets, terminal};
#[cfg(windows)]
pub use windows::{files, sockets, terminal};
