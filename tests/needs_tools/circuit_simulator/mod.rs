//! A general circuit simulator against the closed forms of the loads and, apart from them, against
//! the circuits that the simulated bench integrates.
//!
//! The netlists lie in `tests/circuits`: each runs as it stands (`ngspice -b lamp.cir`), and a test
//! puts its own numbers in place of the netlist's. Steady values agree within 0.1 %, the instants at
//! which a current or a voltage passes a level within 1 % of the time since it was switched. The
//! tables: `cargo test --test needs_tools circuit_simulator:: -- --ignored --nocapture`.

mod bench_bounce;
mod bench_feed;
mod bench_loads;
mod deviations;
mod jig_board;
mod load_models;
mod ngspice;
mod trace;
