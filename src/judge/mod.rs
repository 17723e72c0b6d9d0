//! Readings against expectations.
//!
//! Leans on `load` and `measure`.

pub mod reading;
