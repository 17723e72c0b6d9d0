//! What Linux and macOS share: POSIX, and a little more.

pub mod files;
pub mod serial;
mod space;
pub mod terminal;
