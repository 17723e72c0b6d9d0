//! The jig's own brain: an instrument engine over a [`board::Board`].
//!
//! The firmware and the simulated bench run this very code. `no_std`, no allocator.

pub mod board;
