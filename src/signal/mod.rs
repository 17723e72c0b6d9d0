//! Command formats: what goes out on the feed, and how a module reads it.
//!
//! Stands on the ground: knows no jig, no file and no terminal. `no_std`, no allocator.

pub mod address;
pub mod dcc;
pub mod dcc_decoder;
pub mod edges;
pub mod listener;
pub mod pulse;
pub mod received;
pub mod target;
pub mod telegram;
pub mod trinary;
pub mod trinary_decoder;
