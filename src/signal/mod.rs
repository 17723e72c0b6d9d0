//! Command formats: what goes out on the feed, and how a module reads it.
//!
//! Stands on the ground: knows no jig, no file and no terminal. `no_std`, no allocator.

pub mod dcc;
pub mod pulse;
pub mod target;
pub mod telegram;
pub mod trinary;
