//! The tests that need a tool beside the compiler: a circuit simulator, an emulator and a core library
//! for the jig's processor, a general instrument library. Each says so as the reason why it is ignored;
//! `cargo test --test needs_tools -- --ignored` asks for all of them, and one whose tool is missing
//! fails then, with a sentence that says where it is to be had.

mod circuit_simulator;
mod emulated_jig;
mod foreign_client;
mod foreign_tables;
mod prepared;
