//! What Linux and macOS share: POSIX, and a little more.

pub mod files;
pub mod ready;
pub mod serial;
pub mod sockets;
mod space;
pub mod terminal;
