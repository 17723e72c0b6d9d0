//! Jig, feed, loads and module in software, with a catalogue of faults.
//!
//! Leans on `jig` and `signal`. Integrates its own circuits; shares nothing with `load`.

mod beside;
pub mod board;
mod channels;
pub mod circuits;
mod converter;
mod draw;
pub mod faults;
mod insulation;
pub mod kind;
pub mod line;
pub mod loads;
mod loose_joints;
mod module;
mod noise;
mod non_linearity;
pub mod parts;
mod pulse_line;
pub mod reference_meter;
mod scans;
pub mod served;
pub mod socket;
pub mod truth;
mod world;

pub use beside::Neighbour;
pub use board::{LOAD_SUPPLY_V, PersonAct, Placed, Setup, SimulatedBoard};
pub use draw::Seeds;
pub use module::receiver::Receiver;
pub use world::World;

#[cfg(test)]
mod tests;
