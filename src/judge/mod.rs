//! Readings against expectations.
//!
//! Leans on `load` and `measure`, and reads the limits out of a module sheet.

pub mod blame;
pub mod expect;
pub mod pass_risk;
pub mod reading;
pub mod risk;
pub mod summary;
pub mod switches;
pub mod verdict;
