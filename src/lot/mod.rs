//! A lot: what was ordered, what became of each module of it, and what people decided.
//!
//! | file | holds |
//! | --- | --- |
//! | [`order`], `read`, `write` | `lot.toml`: what was ordered, and how it is tested |
//! | [`serials`] | what the modules are called |
//! | [`decision`], [`decisions`] | `decisions.jsonl`: what people decided, only ever added to |
//! | [`claims`] | which module somebody has in hand |
//! | [`tries`] | the runs of each module, and what of them counts |
//! | [`fate`] | from tries and decisions to what becomes of a module: pure |
//! | [`standing`] | a lot with all its modules as they stand now |
//! | [`sample`] | which modules go through the long script too |
//! | [`found`] | the module that a label is for |
//! | [`keep`] | keeps what was decided, and what became of the modules |
//! | [`modules_csv`] | `modules.csv`: a row a module, made anew from the others at any time |
//!
//! Runs are told in order by their numbers, never by clocks: a simulated bench has a clock of its own, and those of
//! two computers differ. A decision says after which run of its module it was made.

pub mod claims;
pub mod decision;
pub mod decisions;
mod error;
pub mod fate;
pub mod found;
pub mod keep;
pub mod modules_csv;
pub mod order;
mod read;
pub mod sample;
pub mod serials;
pub mod standing;
pub mod tries;
mod write;

pub use error::LotError;
