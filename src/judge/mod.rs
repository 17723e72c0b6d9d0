//! Readings against expectations.
//!
//! Leans on `load` and `measure`, and reads the limits out of a module sheet.

pub mod blame;
pub mod expect;
pub mod limits_from;
pub mod quantity;
pub mod reading;
pub mod remedy;
pub mod risk;
pub mod roots;
pub mod run_risk;
pub mod summary;
pub mod switches;
pub mod verdict;
