//! How much of what the readings scatter by comes from the bench, and how much from the modules: a
//! study of repeatability and reproducibility over several reports.
//!
//! Leans on `record` (the reports) and on `judge` (limits and risks).

pub mod alike;
pub mod anova;
pub mod judged;
pub mod read;
pub mod study;
