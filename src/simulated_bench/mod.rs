//! Jig, feed, loads and module in software, with a catalogue of faults.
//!
//! Leans on `jig` and `signal`. Integrates its own circuits; shares nothing with `load`.

pub mod kind;
