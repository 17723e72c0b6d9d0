//! A capture in, what it shows out.
//!
//! Pure: no line, no jig, no clock. What a channel can tell comes with the record or as
//! [`crate::procedure::channels::Channels`]; what must flow comes as numbers.

pub mod change_over;
pub mod contact_resistance;
pub mod current_rise;
pub mod lamp;
pub mod operation;
pub mod shown;
pub mod standing;
pub mod untrusted;
pub mod witness;

#[cfg(test)]
mod tests;
