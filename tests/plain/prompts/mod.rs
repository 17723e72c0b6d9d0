//! The program at a real terminal: what it asks, what it takes for an answer, and its last screen.

mod asked;
mod calibrated;
mod every_summary;
pub mod jig;
mod lamp;
mod last_screen;
mod sampled;
mod search;
pub mod terminal;
