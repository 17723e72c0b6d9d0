//! Whole-program tests: the built binary, its files, its exit codes, and what it says.

mod address;
mod bad_input;
mod by_hand;
mod commands;
mod control_characters;
mod defaults;
mod diagnosis;
mod finds;
mod interrupted;
mod lines;
mod load;
mod lot;
mod places;
mod rollcall;
mod runs;
mod shared_port;
