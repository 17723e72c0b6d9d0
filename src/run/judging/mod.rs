//! A reading is judged: its window, its verdict, what stands behind it, who is to blame.
//!
//! Pure: no line, no jig, no clock.

pub mod draft;
pub mod reading;
pub mod traceability;
