//! What captures show: positions, the operation as a whole, how the current rose.

pub mod current_rise;
pub mod operation;
pub mod positions;
