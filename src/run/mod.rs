//! Carries a plan out and tells what happens as events.
//!
//! Leans on `script`, `link`, `measure` and `judge`; knows neither record nor report.

pub mod event;
