//! The host's end of the serial line.
//!
//! Leans on `wire`, and opens a `simulated_bench`.
//!
//! From the bottom up: a [`transport`] carries bytes, in [`real_time`] on a [`serial`] device or a [`socket`], [`simulated`] to
//! a bench in this very process (at a [`pace`] where one wants it). A [`handshake`] finds out who
//! is there. A [`session`] seals lines and finds their answers in its [`inbox`]. The [`client`] is
//! the jig as the rest of the program sees it; a `clock_watch` notices a clock of it that goes wrong. [`ports`] lists the devices that there are. Text of
//! a device goes through [`printable`] before anyone sees it.

pub mod capture;
pub mod client;
mod clock_watch;
pub mod error;
pub mod handshake;
pub mod identity;
pub mod inbox;
pub mod pace;
pub mod ports;
pub mod printable;
pub mod real_time;
#[cfg(test)]
mod scripted;
pub mod serial;
pub mod session;
pub mod simulated;
pub mod socket;
pub mod transport;
