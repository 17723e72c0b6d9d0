//! The host's end of the serial line.
//!
//! Leans on `wire`, and opens a `simulated_bench`.
//!
//! From the bottom up: a [`transport`] carries bytes ([`serial`] to real devices), and [`ports`]
//! lists the devices that there are. Text of a device goes through [`printable`] before anyone
//! sees it.

pub mod ports;
pub mod printable;
pub mod serial;
pub mod transport;
