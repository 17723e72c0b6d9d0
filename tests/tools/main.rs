//! The tests that need tools beside the compiler: a circuit simulator, or an emulator and the
//! firmware's target.

mod circuit_simulator;
mod emulated_jig;
