//! `docs/jig*.md`, the netlists and drawings in `docs/jig`, and the jig's firmware say the same.
//!
//! `JIG_DOC_UPDATE=1 cargo test --test plain jig::` writes the tables that come from the firmware anew.

mod budget;
mod netlist;
mod pages;
mod parts;
mod simulated;
mod tables;

#[allow(dead_code)]
#[path = "../../../fixtures/jig/boards/large/src/channels.rs"]
mod channels;
#[allow(dead_code)]
#[path = "../../../fixtures/jig/src/hold.rs"]
mod hold;
