//! A roll-call finds out what a module answers to.

mod bench;
mod endings;
mod every_address;
mod faults;
mod found;
mod said;
