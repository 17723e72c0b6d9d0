//! Looks for the cause of what does not pass: cheap extra looks, each made once.

pub mod bypass;
pub mod cause;
pub mod contacts;
pub mod crossing;
pub mod elsewhere;
pub mod leave;
pub mod moves;
pub mod seat;
pub mod short;
pub mod tell;
pub mod turned;
