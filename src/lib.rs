//! **musterbench** acceptance-tests switching modules on arrival.
//!
//! The map of the crate. The first three rooms are shared with the jig's firmware: they are
//! `no_std`, without an allocator, and all that is left when the `host` feature is off.
//!
//! | room | holds |
//! | --- | --- |
//! | [`wire`] | the jig's language, one definition for both ends |
//! | [`signal`] | command formats: addresses, packets, pulses |
//! | [`jig`] | the jig's own brain, an engine over a `Board` |
//! | `blame` | whose fault something is |
//! | `refused` | why the system refuses something, in words |
//! | `system` | what systems do each in its own way, behind functions that promise the same |
//! | `plain` | text from files and people, made safe to show |
//! | `simulated_bench` | a `Board` made of circuits and a model module, with its faults |
//! | `link` | the host's end of the serial line |
//! | `quantity` | human quantities and where in a file they stand |
//! | `calibration` | lines from reference readings, kept by serial number |
//! | `load` | load sheets and the values to expect from them |
//! | `script` | scripts and module sheets: parse, check, expand to a plan |
//! | `measure` | samples to levels, transitions, currents with uncertainty |
//! | `judge` | readings against expectations |
//! | `procedure` | what is done on a bench |
//! | `run` | carry a plan out; events out |
//! | `finds` | what a script finds: runs on simulated benches with every fault |
//! | `diagnosis` | which fault it is: what a run showed against runs on simulated benches |
//! | `roll_call` | which addresses and which format a module answers to |
//! | `sample` | limits of a load from measurements of known good specimens |
//! | `record` | the CSV reports and the journal |
//! | `label` | what labels are made of: drawings, codes for scanners, sheets |
//! | `layout` | the layout's address plan, and labels for its modules |
//! | `lot` | what was ordered, and what becomes of each module of it |
//! | `muster` | the modules of a lot, one after the other |
//! | `trial` | repeatability and reproducibility of the bench, from reports |
//! | `report` | what people read |
//! | `cli` | one file a command |
#![cfg_attr(not(feature = "host"), no_std)]
#![warn(missing_docs)]

pub mod jig;
pub mod signal;
pub mod wire;

#[cfg(feature = "host")]
pub mod blame;
#[cfg(feature = "host")]
pub mod calibration;
#[cfg(feature = "host")]
pub mod cli;
#[cfg(feature = "host")]
pub mod diagnosis;
#[cfg(feature = "host")]
pub mod finds;
#[cfg(feature = "host")]
pub mod judge;
#[cfg(feature = "host")]
pub mod label;
#[cfg(feature = "host")]
pub mod layout;
#[cfg(feature = "host")]
pub mod link;
#[cfg(feature = "host")]
pub mod load;
#[cfg(feature = "host")]
pub mod lot;
#[cfg(feature = "host")]
pub mod measure;
#[cfg(feature = "host")]
pub mod muster;
#[cfg(feature = "host")]
pub mod plain;
#[cfg(feature = "host")]
pub mod procedure;
#[cfg(feature = "host")]
pub mod quantity;
#[cfg(feature = "host")]
pub mod record;
#[cfg(feature = "host")]
mod refused;
#[cfg(feature = "host")]
pub mod report;
#[cfg(feature = "host")]
pub mod roll_call;
#[cfg(feature = "host")]
pub mod run;
#[cfg(feature = "host")]
pub mod sample;
#[cfg(feature = "host")]
pub mod script;
#[cfg(feature = "host")]
pub mod simulated_bench;
#[cfg(feature = "host")]
pub mod system;
#[cfg(feature = "host")]
pub mod trial;
