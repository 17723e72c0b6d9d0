//! What is done on a bench.

pub mod samples;
