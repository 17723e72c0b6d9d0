//! Whole-program tests: the built binary, its files, its exit codes, and what it says.

mod address;
mod bad_input;
#[cfg(unix)]
mod by_hand;
mod commands;
// No name of a file may hold such characters on Windows.
#[cfg(unix)]
mod control_characters;
mod defaults;
mod diagnosis;
mod finds;
mod installed;
#[cfg(unix)]
mod interrupted;
#[cfg(unix)]
mod lines;
mod load;
mod lot;
mod places;
mod rollcall;
mod runs;
#[cfg(unix)]
mod shared_port;
