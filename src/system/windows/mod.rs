//! What Windows does in its own way.

mod console;
pub mod files;
pub mod serial;
pub mod sockets;
pub mod terminal;
