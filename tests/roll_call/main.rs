//! A roll-call finds out what a module answers to.

#[macro_use]
#[path = "../support/pass_on.rs"]
mod pass_on;

mod bench;
mod endings;
mod every_address;
mod faults;
mod found;
#[path = "../support/bench.rs"]
#[allow(dead_code)]
mod noting;
mod said;
