//! A roll-call finds out what a module answers to.

mod endings;
mod faults;
mod found;
mod kinds;
mod said;
