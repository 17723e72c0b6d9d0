//! The host's end of the serial line.
//!
//! Leans on `wire`, and opens a `simulated_bench`.
//!
//! From the bottom up: a [`transport`] carries bytes ([`serial`] to real devices), and [`ports`]
//! lists the devices that there are. Text of a device goes through [`printable`] before anyone
//! sees it.

pub mod capture;
pub mod client;
pub mod error;
pub mod handshake;
pub mod identity;
pub mod inbox;
pub mod ports;
pub mod printable;
#[cfg(test)]
mod scripted;
pub mod serial;
pub mod session;
pub mod transport;
