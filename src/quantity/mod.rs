//! Physical quantities as people write them, and where in a file they stand.
//!
//! Stands on the ground. `load` and `script` read their TOML through it.

pub mod range;
