//! What only Linux has.

pub mod holders;
pub mod lasting_name;
pub mod pseudo_terminal;
